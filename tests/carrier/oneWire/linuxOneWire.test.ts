import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { linuxOneWire } from '../../../src/carrier/oneWire/linuxOneWire.js';
import { parseRomId, type RomId } from '../../../src/units/ids.js';
import { utcMs } from '../../../src/units/time.js';
import { ds18b20, POWER_UP, withCrc } from '../host/scratchpads.js';
import { VirtualClock } from '../host/virtualClock.js';
import { Listening } from '../listening.js';
import { KernelTree, slaveName, slaveText } from './kernel.js';

// ROM ids that check: published clone report, CC BY
const [one, two] = ['28-13-9B-BB-0B-00-00-1F', '28-CA-D6-10-10-00-00-FE'].map(
  (text) => parseRomId(text)!,
) as [RomId, RomId];
const old = parseRomId('10-B0-15-16-03-08-00-F1')!;

let clock: VirtualClock;
let tree: KernelTree;
let heard: Listening;

beforeEach(() => {
  clock = new VirtualClock(utcMs(Date.UTC(2026, 4, 12, 12)));
  tree = new KernelTree(clock);
  heard = new Listening(clock);
});
afterEach(async () => {
  await heard.end();
  tree.discard();
});

/** A probe at a steady temperature, in sixteenths, that keeps what is written to TH and TL. */
const steady = (rom: RomId, sixteenths: number | (() => number)) => ({
  rom,
  convert: () => ds18b20(typeof sixteenths === 'number' ? sixteenths : sixteenths(), tree.alarms.get(rom)),
});
function begin(): void {
  let boots = 0;
  const source = linuxOneWire({
    clock,
    folder: tree.root,
    files: tree.files(),
    nextBoot: () => {
      boots += 1;
      return boots;
    },
  });
  void heard.begin(source);
}
/** Lets three scans pass, the first three at 0, 10 and 20 s. */
const threeScans = () => clock.run((Math.floor((clock.monotonic() + 5_000) / 30_000) + 1) * 30_000 - 5_000);

describe('linuxOneWire()', () => {
  it('has all probes convert together and reads what each converted', async () => {
    tree.add(steady(one, 400));
    tree.add(steady(two, -8));
    begin();
    await threeScans();
    expect(heard.readings(one)).toEqual(['first-conversion 400', 'ok 400', 'ok 400']);
    expect(heard.readings(two)).toEqual(['first-conversion -8', 'ok -8', 'ok -8']);
    expect(tree.conversions).toEqual({ together: 3, single: 0 });
    expect(heard.scans().map(({ boardMs, scan }) => [boardMs, scan])).toEqual([
      [0, 1],
      [10_000, 2],
      [20_000, 3],
    ]);
    expect(heard.events.slice(0, 4).map(({ kind }) => kind)).toEqual(['link', 'boot', 'heartbeat', 'probes']);
  });

  it('says at once when there is no probe, and takes one that appears', async () => {
    begin();
    await clock.pass(1_000);
    expect(heard.links('note')).toEqual([
      expect.stringMatching(/holds no probe that is read here: look at wires and folder/),
    ]);
    tree.add(steady(one, 400));
    await threeScans();
    await threeScans();
    expect(heard.readings(one).at(-1)).toBe('ok 400');
    expect(heard.links('note')).toHaveLength(1);
  });

  it('reads one by one where the driver cannot convert all, each at its own time', async () => {
    tree.add(steady(one, 400), { hasBulk: false });
    tree.add(steady(two, 410), { hasBulk: false });
    begin();
    await threeScans();
    expect(heard.readings(one)).toEqual(['first-conversion 400', 'ok 400', 'ok 400']);
    expect(tree.conversions).toEqual({ together: 0, single: 6 });
    expect(heard.scans()).toHaveLength(6);
  });

  it('reads a DS18S20 and leaves other families out, with a word', async () => {
    // DS18S20 datasheet: 32 00 with remain 0C is 25.0 degC
    tree.add({ rom: old, convert: () => withCrc([0x32, 0, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x10]) });
    writeFileSync(join(tree.root, '22-000000000001'), '');
    writeFileSync(join(tree.root, '01-000000000002'), '');
    begin();
    await threeScans();
    expect(heard.readings(old).at(-1)).toBe('ok 400');
    expect(heard.links('note')).toEqual([
      '22-000000000001 is a thermometer of a family that is not read here; left out',
    ]);
  });

  const broken = ds18b20(400).with(3, 0x47);
  it.each([
    // documented failures of the driver (kernel documentation, w1_therm), and what a bus held low or high gives
    ['a CRC that is wrong (NO)', slaveText(broken, ds18b20(400)), 'bad-crc null'],
    ['YES over bytes that do not check', slaveText(broken).replace('NO', 'YES'), 'bad-crc null'],
    ['NO over bytes that do check', slaveText(ds18b20(400)).replace('YES', 'NO'), 'bad-crc null'],
    ['an empty file', '', 'missing null'],
    ['85 with the not-converted mark', slaveText(POWER_UP), 'not-converted 1360'],
    [
      '127.9375 with the not-converted mark',
      slaveText(withCrc([0xff, 0x07, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10])),
      'not-converted 2047',
    ],
    ['nine zeros', slaveText(new Array<number>(9).fill(0)), 'all-zero null'],
    ['nine ones', slaveText(new Array<number>(9).fill(255)), 'missing null'],
    ['a text of another kind', 'I/O error\n', 'bad-crc null'],
    ['half a line', '90 01 4b', 'bad-crc null'],
  ])('takes %s for no observation', async (_, text, expected) => {
    tree.add(steady(one, 400));
    tree.add(steady(two, 410));
    begin();
    await threeScans();
    tree.instead.set(one, text);
    await threeScans();
    expect(heard.readings(one).filter((each) => !each.endsWith(' 400'))).toEqual([expected]);
    expect(heard.readings(two).slice(1)).toEqual(new Array(heard.readings(two).length - 1).fill('ok 410'));
    // What a probe reads first after it was gone may be of long ago.
    const after = heard.readings(one)[heard.readings(one).indexOf(expected) + 1];
    const wasGone = expected.startsWith('missing') || expected.startsWith('not-converted');
    expect(after).toBe(wasGone ? 'first-conversion 400' : 'ok 400');
  });

  it('does not take a value that never changes for a temperature, and says so', async () => {
    tree.add(steady(one, 400));
    tree.add(steady(two, () => 400 + Math.floor(clock.monotonic() / 100_000)));
    begin();
    await clock.run(32 * 60_000);
    expect(heard.readings(one).at(-1)).toBe('unchanging 400');
    expect(heard.readings(two).at(-1)).toMatch(/^ok /);
    expect(heard.links('note')).toEqual([
      expect.stringMatching(/^probe 28-13-9B.* 25 °C and nothing else for 30 min/),
    ]);
  });

  it('keeps a vanished probe as missing, and its neighbour in its place', async () => {
    tree.add(steady(one, 400));
    tree.add(steady(two, 410));
    begin();
    await threeScans();
    tree.remove(one);
    await threeScans();
    tree.add(steady(one, 420));
    await threeScans();
    expect(heard.readings(one).slice(3)).toEqual([
      'missing null',
      'missing null',
      'missing null',
      'first-conversion 420',
      'ok 420',
      'ok 420',
    ]);
    expect(
      heard
        .readings(two)
        .slice(1)
        .every((each) => each === 'ok 410'),
    ).toBe(true);
    expect(heard.events.filter(({ kind }) => kind === 'probes')).toHaveLength(1);
  });

  it('gives a probe that is plugged in later an index of its own', async () => {
    tree.add(steady(two, 410));
    begin();
    await threeScans();
    tree.add(steady(one, 400));
    await threeScans();
    const tables = heard.events.flatMap((event) => (event.kind === 'probes' ? [event.probes] : []));
    expect(tables).toEqual([
      [{ index: 0, rom: two }],
      [
        { index: 0, rom: two },
        { index: 1, rom: one },
      ],
    ]);
    expect(heard.readings(one)[0]).toBe('first-conversion 400');
  });

  it('finds a probe that restarted with a plausible value of its own', async () => {
    let isReset = false;
    tree.add({
      rom: one,
      // Two families of clones wake with 25.0 degC (published clone report).
      convert: () => (isReset ? ds18b20(400) : ds18b20(300, tree.alarms.get(one))),
    });
    begin();
    await threeScans();
    expect(tree.written(one, 'alarms')).toMatch(/^-41 83/);
    isReset = true;
    await clock.run(35_000);
    isReset = false;
    await threeScans();
    expect(heard.readings(one).slice(3)).toEqual(['restarted 400', 'first-conversion 300', 'ok 300']);
  });

  it('goes without a mark where a probe takes none', async () => {
    tree.add({ rom: one, convert: () => ds18b20(400) });
    begin();
    for (let scan = 0; scan < 3; scan += 1) await threeScans();
    expect(
      heard
        .readings(one)
        .slice(1)
        .every((each) => each === 'ok 400'),
    ).toBe(true);
  });

  it('sets 12 bit again when a probe is not at it', async () => {
    let configuration = 0x3f;
    tree.add({ rom: one, convert: () => ds18b20(400, { ...tree.alarms.get(one), configuration }) });
    writeFileSync(join(tree.root, slaveName(one), 'resolution'), '10\n');
    begin();
    await threeScans();
    expect(heard.readings(one)).toEqual(new Array(3).fill('bad-configuration 400'));
    expect(tree.written(one, 'resolution')).toBe('12');
    configuration = 0x7f;
    await threeScans();
    expect(heard.readings(one).at(-1)).toBe('ok 400');
  });

  it('takes no value of long ago when nothing converted together', async () => {
    let sixteenths = 400;
    tree.add(steady(one, () => sixteenths));
    begin();
    await threeScans();
    tree.isBulkDead = true;
    sixteenths = 300;
    await threeScans();
    expect(heard.links('note')).toEqual([
      'w1_bus_master1 could not make its probes convert together; then they are read one by one',
    ]);
    expect(heard.readings(one).slice(-4)).toEqual(['ok 400', 'ok 300', 'ok 300', 'ok 300']);
  });

  it('begins a new epoch when the drivers were gone', async () => {
    tree.add(steady(one, 400));
    begin();
    await threeScans();
    tree.discard();
    await threeScans();
    expect(heard.events.at(-1)).toMatchObject({ kind: 'link', state: 'closed' });
    const root = tree.root;
    tree.add(steady(one, 400));
    expect(tree.root).toBe(root);
    await threeScans();
    expect(
      heard.events.filter(({ kind }) => kind === 'boot').map((boot) => 'bootCount' in boot && boot.bootCount),
    ).toEqual([1, 2]);
    expect(heard.readings(one).slice(-3)).toEqual(['first-conversion 400', 'ok 400', 'ok 400']);
  });

  it('is refused where there is no such folder, in one sentence', async () => {
    const source = linuxOneWire({ clock, folder: '/no/such/folder', nextBoot: () => 1 });
    await expect(source.open()).rejects.toThrow(
      "/no/such/folder cannot be read; load the kernel's 1-Wire drivers (w1-gpio or your adapter's, and w1-therm), or name the folder of their devices.",
    );
    rmSync(tree.root, { recursive: true });
  });
});
