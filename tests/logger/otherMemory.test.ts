import { describe, expect, it } from 'vitest';
import { openSqlite } from '../../src/store/sqlite.js';
import type { Store } from '../../src/store/store.js';
import { parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { manyRoms } from '../emulator/bench.js';
import { eachInNewStore } from '../visit/newStore.js';
import { log, met, page, Table } from './conversationTable.js';
import { Lockstep } from './lockstep.js';

const START = utcMs(Date.UTC(2026, 4, 12, 12));
const carrier = parseCarrierId('A')!;
const roms = manyRoms(14).map((rom) => parseRomId(rom)!);
/** So much that the second log is longer than the first. */
const [FIRST_ALONE, SECOND_ALONE] = [minutes(6), minutes(24)];
const LONG_ENOUGH = minutes(10);

let store: Store;
let bench: Lockstep;
eachInNewStore((fresh) => {
  store = fresh;
  bench = new Lockstep({ start: START, roms, temperature: () => 25 });
}, START);

/** Plugs the board in and reads its log, all of it or until so many pages have come; gives how many came. */
async function read(pagesEnough = Number.POSITIVE_INFINITY): Promise<number> {
  const begun = bench.heard.length;
  const pages = () => bench.heard.slice(begun).filter(({ kind }) => kind === 'log-page').length;
  const { talk } = bench.plugIn(store, carrier, { reset: true, withOpenPage: true });
  const isEnough = () => pages() >= pagesEnough || talk.isCaughtUp();
  await bench.run(bench.ms + LONG_ENOUGH, isEnough);
  expect(isEnough()).toBe(true);
  bench.unplug();
  return pages();
}
/** Plugs it in while its memory is mute, without a restart. */
async function readMute(): Promise<number> {
  const begun = bench.heard.length;
  const { talk } = bench.plugIn(store, carrier, { reset: false, withOpenPage: true });
  await bench.run(bench.ms + minutes(2), () => talk.isCaughtUp());
  bench.comeOff();
  return bench.heard.slice(begun).filter(({ kind }) => kind === 'log-page').length;
}
/** As stores of version 5 kept pages of RAM. */
function forgetThatOfRam(): void {
  const sqlite = openSqlite(store.path, 'write');
  sqlite.run('UPDATE pages SET log = 0 WHERE log < 0');
  sqlite.close();
}
const board = () => bench.heard.flatMap((event) => (event.kind === 'boot' ? [event.board] : []))[0]!;
const acknowledgements = () =>
  bench.heard.filter((event) => event.kind === 'answer' && event.command === 'acknowledge').length;

describe('a board whose memory was replaced', () => {
  it.each([
    ['at once', []],
    ['with the connection lost after the page that tells, and again later', [1, 4]],
  ])(
    'is read from its first page, %s, though its log has more pages than the one before',
    async (_how, parts) => {
      await bench.run(FIRST_ALONE);
      await read();
      const before = store.pageNumbers(board());
      const kept = store.pagesOf(board(), 1);
      expect(before.length).toBeGreaterThan(3);

      bench.replaceMemory();
      const boot = 3;
      await bench.run(bench.ms + SECOND_ALONE);
      const earlier = acknowledgements();
      for (const part of parts) await read(part);
      expect(acknowledgements()).toBe(earlier);
      await read();

      expect(store.pageNumbers(board()).length).toBeGreaterThan(before.length * 2);
      const scans = [...store.scansOf(board(), boot).keys()].sort((a, b) => a - b);
      // A boot's first scan is not logged (docs/wire-protocol.md); alone there is one every 20 s.
      expect(scans[0]).toBe(2);
      expect(scans).toHaveLength(scans.at(-1)! - 1);
      expect(scans.length).toBeGreaterThan(SECOND_ALONE / 20_000 - 3);
      // What was kept of the log before is still there.
      expect(store.pagesOf(board(), 1)).toEqual(kept);
      expect(acknowledgements()).toBeGreaterThan(earlier);
    },
  );

  it('is asked for one page only when its memory is the same', async () => {
    await bench.run(FIRST_ALONE);
    const all = await read();
    expect(all).toBeGreaterThan(3);
    // The last one here, which shows that the log is the same.
    expect(await read()).toBe(1);
  });
});

describe('a board whose memory is replaced while it runs', () => {
  it('has every scan of both memories, and each page as it was first kept', async () => {
    const [OTHER, SWAP] = [minutes(8), minutes(32)];
    bench = new Lockstep({
      ...{ start: START, roms, temperature: () => 25 },
      mute: [{ fromMs: SWAP, toMs: SWAP + minutes(1) }],
    });
    const options = { reset: false, withOpenPage: true };
    await bench.run(OTHER);
    // Its own log ends where the first one's did then; RAM, in which the numbers are by now, has it go on after them.
    const other = bench.memory();
    await bench.run(SWAP - minutes(2));
    const first = bench.plugIn(store, carrier, options);
    await bench.run(SWAP);
    expect(first.talk.isCaughtUp()).toBe(true);
    bench.comeOff();
    const kept = store.pagesOf(board(), 1);
    await bench.run(SWAP + 1000);
    bench.swapMemory(other);
    await bench.run(SWAP + minutes(20));
    const second = bench.plugIn(store, carrier, options);
    await bench.run(bench.ms + LONG_ENOUGH, () => second.talk.isCaughtUp());
    expect(second.talk.isCaughtUp()).toBe(true);

    const now = store.pagesOf(board(), 1);
    const same = (page: (typeof kept)[number]) =>
      now.some((each) => Buffer.from(each.bytes).equals(page.bytes));
    // The last one was open and has grown.
    expect(kept.slice(0, -1).filter((page) => !same(page))).toEqual([]);
    const scans = [...store.scansOf(board(), 1).keys()].sort((a, b) => a - b);
    expect(scans[0]).toBe(2);
    // RAM kept the last pages of the minute in which no memory answered.
    expect(scans).toHaveLength(scans.at(-1)! - 1);
    expect(scans.length).toBeGreaterThan((SWAP + minutes(20)) / 20_000 - 5);
  });
});

describe('a boot in which the memory did not answer', () => {
  it.each([
    ['known as such', true],
    ['from before RAM was told apart', false],
  ])('has the log read no second time, its pages %s', async (_how, isTold) => {
    const MUTE = minutes(12);
    bench = new Lockstep({
      ...{ start: START, roms, temperature: () => 25 },
      mute: [{ fromMs: MUTE, toMs: MUTE + minutes(8) }],
    });
    await bench.run(MUTE);
    // Begins the boot in which it is mute.
    bench.board.reset('power-on');
    await bench.run(MUTE + minutes(3));
    const ofRam = await readMute();
    expect(ofRam).toBeGreaterThan(0);
    if (!isTold) forgetThatOfRam();
    await bench.run(MUTE + minutes(9));
    const all = await read();
    expect(all).toBeGreaterThan(7);
    // One page a part shows that the log is the same.
    expect(await read()).toBeLessThanOrEqual(isTold ? 1 : 3);
    expect(await read()).toBeLessThanOrEqual(isTold ? 1 : 3);
    const scans = [...store.scansOf(board(), 1).keys()];
    expect(scans.length).toBeGreaterThan(MUTE / 20_000 - 4);
  });
});

describe('conversation() with a log that is not the one that is kept', () => {
  const HELD = [...Array(20).keys()].map((index) => index + 1);

  it('reads all of it, and acknowledges nothing before', () => {
    const table = met(new Table({ held: HELD }), { open: 60 });
    table.proves(20, 5);
    expect(table.acts()).toEqual(['resend 000001 0013']);
    table.answers('done', '0013');
    for (const number of HELD.slice(0, -1)) table.told(page(number, 5));
    expect(table.acts()).toEqual(['acknowledge 000014']);
    table.answers();
    expect(table.acts()).toEqual(['resend 000015 0027']);
  });

  it.each([
    ['is not there', '0000'],
    ['does not come', '0001'],
  ])('reads all of it when the page that would tell %s', (_how, count) => {
    const table = met(new Table({ held: HELD }), { open: 60 });
    table.waits(60_000, (command) => {
      table.answers('done', command === 'resend 000014 0001' ? count : '0000');
    });
    const asked = table.said.indexOf('resend 000001 003B');
    expect(asked).toBeGreaterThan(0);
    expect(table.said.slice(0, asked).some((line) => line.startsWith('acknowledge'))).toBe(false);
  });

  it('knows that it is the same when the last page has grown since', () => {
    const table = met(new Table({ held: HELD }), { open: 60 });
    table.proves(20, 1, 3);
    expect(table.acts()).toEqual(['resend 000015 0027']);
  });

  it('holds nothing of what RAM gave while the memory did not answer', () => {
    const table = met(new Table(), { store: 'ram', open: 3 });
    table.agrees({ resend: '0002' });
    for (const number of [1, 2]) table.told(page(number, 5));
    table.agrees();
    expect(table.said).toContain('acknowledge 000002');
    table.told(log({ open: 60, acknowledged: 2 }));
    table.proves(2, 1);
    expect(table.acts()).toEqual(['resend 000001 0001']);
  });
});
