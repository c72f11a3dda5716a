import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, hex, manyRoms } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { build, WHY_NO_BUILD } from './build.js';
import {
  isEarlier,
  keyOf,
  live,
  numberOf,
  PAGE_BYTES,
  PLACES,
  pagesOf,
  scansOf,
  writtenPage,
  writtenRing,
} from './logged.js';

/** Two of the places are under way: where the open page is, and where its other copy may be. */
const READABLE = PLACES - 1;
const UTC = 1_790_000_000;

/** A board whose memory holds pages up to `newest`, the host having all up to `acknowledged`. */
function board(newest: number, acknowledged = newest, options: { probes?: number; hex?: string } = {}) {
  const memory = new SerialMemory({ bytes: writtenRing(newest, acknowledged) });
  const bench = new Bench({
    probes: manyRoms(options.probes ?? 1).map((rom) => ({ rom })),
    memory,
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
    ...(options.hex && { hex: options.hex }),
  });
  return { memory, bench };
}

/** store, oldest, open, acknowledged and room, as the board tells them when it is asked. */
const state = (bench: Bench) => {
  expect(bench.ask('I')).toEqual(['K']);
  bench.run(bench.board.ms + 300);
  const [store, ...numbers] = bench.of('J').at(-1)?.fields ?? [];
  const [oldest, open, acknowledged, room] = numbers.map((digits) => Number.parseInt(digits, 16));
  return { store, oldest, open, acknowledged, room };
};

describe('a ring that has come round is mounted', () => {
  test.each([1, 510, 511, 512, 513, 1023, 1024, 65_535, 65_536, 70_000])(
    'with page %d as its newest',
    (newest) => {
      const { bench } = board(newest);
      bench.run(2000);
      const oldest = Math.max(1, newest - READABLE + 1);
      expect(state(bench)).toEqual({
        store: 'M',
        oldest,
        open: newest,
        acknowledged: newest - 1,
        room: READABLE - 1,
      });
      // What is there is sent as it was written; what the ring has passed is not.
      const from = Math.max(1, oldest - 2);
      const first = pagesOf(bench, from, oldest + 3 - from);
      expect(first.map(numberOf)).toEqual(
        [oldest, oldest + 1, oldest + 2].filter((number) => number <= newest),
      );
      for (const page of [...first, ...pagesOf(bench, newest, 2)])
        expect(scansOf(page)).toEqual(scansOf(writtenPage(numberOf(page), 0)));
    },
  );
});

/** Warnings of the log: letter and detail. */
const warnings = (bench: Bench, from = 0) =>
  bench.lines
    .slice(from)
    .filter(({ kind, fields }) => kind === 'W' && 'FO'.includes(fields[0] ?? ''))
    .map(({ fields }) => `${fields[0]} ${Number.parseInt(fields[1] ?? '', 16)}`);

/** Lets the board write at least `pages` more: each setting of the clock begins two, one for the table and one for the scan. */
function write(bench: Bench, pages: number): void {
  const until = openOf(bench) + pages;
  while (openOf(bench) < until) {
    expect(bench.ask('C', (UTC + Math.floor(bench.board.ms / 1000)).toString(16).toUpperCase())).toEqual([
      'K',
      'R',
    ]);
    const scans = bench.scans().length;
    while (bench.scans().length === scans) bench.run(bench.board.ms + 200);
  }
}
const openOf = (bench: Bench) => state(bench).open ?? 0;
const acknowledge = (bench: Bench, page: number) => bench.ask('K', hex(page, 6));
/** How long the LED was lit from a moment on. */
function litMs(bench: Bench, fromMs: number): number {
  let lit = 0;
  for (const [index, { atMs, ledIsOn }] of bench.outputs.entries()) {
    const endMs = bench.outputs[index + 1]?.atMs ?? bench.board.ms;
    if (ledIsOn) lit += Math.max(0, endMs - Math.max(atMs, fromMs));
  }
  return lit;
}

describe('the log warns before it overwrites what no host has', () => {
  const NEWEST = 3000;
  /** As many pages can be written as `room` says before one is lost. */
  const withRoom = (room: number, options: { probes?: number; hex?: string } = {}) => {
    const acknowledged = NEWEST - READABLE + room;
    const { bench } = board(NEWEST, acknowledged, options);
    bench.run(3000);
    expect(state(bench).room).toBe(room);
    return { bench, acknowledged };
  };
  const HALVINGS = ['F 64', 'F 32', 'F 16', 'F 8', 'F 4', 'F 2', 'F 1', 'F 0'];

  test('at 64 pages and at each halving, and then counts those that are lost', () => {
    const { bench, acknowledged } = withRoom(66);
    expect(warnings(bench)).toEqual([]);
    write(bench, 66);
    const { open, oldest } = state(bench);
    expect([open, oldest]).toEqual([NEWEST + 66, acknowledged + 1]);
    expect(warnings(bench)).toEqual(HALVINGS);
    // No page is lost yet: the oldest that no host has is still sent.
    expect(pagesOf(bench, acknowledged + 1, 1).map(numberOf)).toEqual([acknowledged + 1]);
    write(bench, 9);
    const lost = (state(bench).oldest ?? 0) - acknowledged - 1;
    expect(lost).toBeGreaterThanOrEqual(8);
    expect(lost).toBeLessThan(16);
    expect(warnings(bench)).toEqual([...HALVINGS, 'O 1', 'O 2', 'O 4', 'O 8']);
    expect(pagesOf(bench, acknowledged + 1, lost + 1).map(numberOf)).toEqual([acknowledged + lost + 1]);
  });

  test('also after a power cut, and with an open page', () => {
    const { bench, acknowledged } = withRoom(5, { probes: 3 });
    write(bench, 2);
    expect(warnings(bench)).toEqual(['F 4']);
    const before = bench.lines.length;
    const room = READABLE - (openOf(bench) - acknowledged);
    bench.board.reset('power-on');
    bench.run(bench.board.ms + 3000);
    expect(state(bench)).toMatchObject({ acknowledged, room });
    write(bench, 4);
    expect(warnings(bench, before)).toEqual(['F 2', 'F 1', 'F 0', 'O 1']);
  });

  test('until a host acknowledges, with the LED too', () => {
    const { bench } = withRoom(20);
    write(bench, 4);
    const litFromMs = bench.board.ms;
    bench.run(litFromMs + 32_000);
    // A second of light in eight.
    expect(litMs(bench, litFromMs)).toBeGreaterThanOrEqual(3000);
    expect(warnings(bench)).toEqual(['F 16']);
    expect(acknowledge(bench, openOf(bench))).toEqual(['N']); // it is open
    expect(acknowledge(bench, openOf(bench) - 1)).toEqual(['K']);
    bench.run(bench.board.ms + 6000);
    const [silentFromMs, said] = [bench.board.ms, bench.lines.length];
    write(bench, 20);
    bench.run(bench.board.ms + 32_000);
    expect(warnings(bench, said)).toEqual([]);
    expect(litMs(bench, silentFromMs)).toBe(0);
    expect(state(bench).room).toBeGreaterThan(480);
  });

  test('with the LED alone when there is no memory', () => {
    const lit = (memory?: SerialMemory) =>
      litMs(new Bench({ probes: [], hostListens: false, ...(memory && { memory }) }).run(42_000), 10_000);
    expect(lit()).toBeGreaterThanOrEqual(3000);
    expect(lit(new SerialMemory())).toBe(0);
  });

  test('but an image without the warning does not (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const { bench } = withRoom(3, { hex: broken('the log warns before it overwrites what no host has').hex });
    write(bench, 6);
    expect(state(bench).oldest).toBeGreaterThan(NEWEST - READABLE + 4);
    expect(warnings(bench)).toEqual([]);
  });
});

test('scans are kept over the end of the memory and over a wrap of board time', ({ skip }) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  const memory = new SerialMemory({ bytes: writtenRing(1021) });
  const probes = manyRoms(12).map((rom, index) => ({ rom, celsius: (ms: number) => index + ms / 60_000 }));
  const startMs = 2 ** 32 - 130_000;
  const { hex: image } = build(`START_MS=${startMs}`);
  const bench = new Bench({ hex: image, probes, memory, hostListens: false }).run(400_000);
  const told = live(bench);
  const kept = pagesOf(bench, 1021)
    .flatMap(scansOf)
    .filter((scan) => !isEarlier(scan));
  const places = [0, 1, 2].map((place) => numberOf(memory.bytes.subarray(place * PAGE_BYTES)));
  expect(places).toEqual([1024, 1025, 1026]);
  expect(kept.map(keyOf).slice(0, told.length)).toEqual(told.map(keyOf));
  const wrapped = (ms: number) => ((ms % 2 ** 32) + 2 ** 32) % 2 ** 32;
  for (const [index, { ms }] of told.entries())
    expect(Math.abs(wrapped((kept[index]?.ms ?? Number.NaN) - ms + 1000) - 1000)).toBeLessThanOrEqual(500);
  // Both sides of the wrap were seen, and within one page.
  expect(told.some(({ ms }) => ms >= startMs) && told.some(({ ms }) => ms < startMs)).toBe(true);
});
