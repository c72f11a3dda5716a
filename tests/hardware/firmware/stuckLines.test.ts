import { describe, expect, test } from 'vitest';
import { CLOCK_ADDRESS, ClockChip } from '../../../src/emulator/clockChip.js';
import type { I2cFault, I2cFaultKind } from '../../../src/emulator/i2cBus.js';
import { MEMORY_ADDRESS, SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { I2cMaster, MEMORY_READ } from '../../emulator/i2cMaster.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';
import { hang } from './hang.js';
import { keyOf, live, readBack, writtenRing } from './logged.js';

const UTC = 1_790_000_000;
const PERIOD_MS = 20_000;
/** From the shortest that a clock edge can see to many scans. */
const FAULT_MS = [0.003, 40_000] as const;

/** Tells of each byte that it reads or writes, with the time in milliseconds. */
class WatchedMemory extends SerialMemory {
  onByte: (ms: number) => void = () => {};
  override select(isRead: boolean, us: number): boolean {
    this.onByte(us / 1000);
    return super.select(isRead, us);
  }
  override write(byte: number, us = 0): boolean {
    this.onByte(us / 1000);
    return super.write(byte);
  }
  override read(us = 0): number {
    this.onByte(us / 1000);
    return super.read();
  }
}
class WatchedClock extends ClockChip {
  onByte: (ms: number) => void = () => {};
  override select(isRead: boolean, us: number): boolean {
    this.onByte(us / 1000);
    return super.select(isRead, us);
  }
}

interface Trouble {
  readonly kind: I2cFaultKind;
  readonly address?: number;
  readonly faults: number;
  readonly seed: number;
  readonly chips: 'both' | 'memory' | 'clock';
}

/**
 * A board on which one thing goes wrong again and again, for moments and for many scans: at any time, or (every
 * second one) in the middle of a byte that a chip sends or receives.
 */
function trouble({ kind, address, faults, seed, chips }: Trouble) {
  const chance = seededChance(seed);
  const memory = new WatchedMemory();
  const clock = new WatchedClock({ utcSeconds: UTC });
  const i2cFaults: I2cFault[] = [];
  let inTransfer = 0;
  const bench = new Bench({
    probes: manyRoms(12).map((rom, index) => ({ rom, celsius: (ms: number) => 10 + index + ms / 300_000 })),
    ...(chips !== 'clock' && { memory }),
    ...(chips !== 'memory' && { clock }),
    i2cFaults,
    hostListens: false,
  }).run(30_000);
  const fail = (fromMs: number) => {
    const [shortest, longest] = FAULT_MS;
    const lasts = shortest * (longest / shortest) ** chance.uniform();
    i2cFaults.splice(0, i2cFaults.length, {
      kind,
      ...(address !== undefined && { address }),
      fromMs,
      toMs: fromMs + lasts,
    });
  };
  const chip = chips === 'clock' || address === CLOCK_ADDRESS ? clock : memory;
  for (let fault = 0; fault < faults; fault += 1) {
    if (fault % 2 === 0) fail(bench.board.ms + chance.uniform() * 20_000);
    else {
      // Of the bytes of a scan's page some 150 pass; one of them, and some microseconds into it.
      let bytesLeft = chip === memory ? Math.floor(chance.uniform() * 150) : Math.floor(chance.uniform() * 4);
      chip.onByte = (ms) => {
        bytesLeft -= 1;
        if (bytesLeft >= 0) return;
        chip.onByte = () => {};
        inTransfer += 1;
        fail(ms + chance.uniform() * 0.05);
      };
    }
    // While the log is in RAM the memory is tried once a page.
    const before = inTransfer;
    for (let waited = 0; waited < 5 && fault % 2 === 1 && inTransfer === before; waited += 1)
      bench.run(bench.board.ms + 60_000);
    bench.run(bench.board.ms + 40_000 + chance.uniform() * 20_000);
    chip.onByte = () => {};
  }
  return { bench, memory, clock, inTransfer };
}

const gaps = (times: readonly number[]) => times.slice(1).map((time, index) => time - (times[index] ?? 0));

function expectNoHang(bench: Bench): void {
  expect(bench.of('B').filter(({ sequence }) => sequence === 0)).toHaveLength(1);
  const beats = gaps(bench.of('H').map(({ atMs }) => atMs));
  expect(Math.max(...beats)).toBeLessThan(1000);
  const scans = bench.scans().slice(1); // the first waits for the first search
  expect(scans.map(({ scan }) => scan)).toEqual(scans.map((_, index) => index + 2));
  for (const gap of gaps(scans.map(({ boardMs }) => boardMs)))
    expect(Math.abs(gap - PERIOD_MS)).toBeLessThan(250);
  expect(bench.lines.every(({ crcIsRight }) => crcIsRight)).toBe(true);
}

/** Nothing wrong is kept and nothing is missing; the last page is in the memory itself, not in RAM. */
function expectWholeLog(bench: Bench, memory: SerialMemory): void {
  const { writes } = memory;
  bench.run(bench.board.ms + 600_000);
  expect(bench.of('J').at(-1)?.fields[0]).toBe('M');
  expect(memory.writes).toBeGreaterThan(writes + 10);
  const told = live(bench);
  bench.board.reset('power-on');
  bench.run(bench.board.ms + 3000);
  expect(readBack(bench).map(keyOf).sort()).toEqual(told.map(keyOf).sort());
}

function expectRightClock(bench: Bench, clock: ClockChip): void {
  bench.run(bench.board.ms + 300_000);
  const { atMs, fields } = bench.of('C').at(-1) ?? { atMs: 0, fields: [] };
  expect(fields[0]).toBe('R');
  expect(Math.abs(Number.parseInt(fields[1] ?? '', 16) - clock.utcAt(atMs * 1000))).toBeLessThan(1.2);
}

const EVERYTHING: readonly (readonly [string, Trouble])[] = [
  ['SDA held low', { kind: 'sda-low', chips: 'both', faults: 30, seed: 11 }],
  ['SDA held low, memory alone', { kind: 'sda-low', chips: 'memory', faults: 16, seed: 12 }],
  ['SDA held low, clock alone', { kind: 'sda-low', chips: 'clock', faults: 16, seed: 11 }],
  ['SCL held low', { kind: 'scl-low', chips: 'both', faults: 30, seed: 14 }],
  ['SCL held low, memory alone', { kind: 'scl-low', chips: 'memory', faults: 16, seed: 15 }],
  ['SCL held low, clock alone', { kind: 'scl-low', chips: 'clock', faults: 16, seed: 16 }],
  ['memory gone', { kind: 'absent', address: MEMORY_ADDRESS, chips: 'both', faults: 16, seed: 17 }],
  [
    'memory gone, no clock',
    { kind: 'absent', address: MEMORY_ADDRESS, chips: 'memory', faults: 16, seed: 18 },
  ],
  ['clock gone', { kind: 'absent', address: CLOCK_ADDRESS, chips: 'both', faults: 16, seed: 19 }],
  ['clock gone, no memory', { kind: 'absent', address: CLOCK_ADDRESS, chips: 'clock', faults: 16, seed: 20 }],
];

describe('trouble on the bus of memory and clock stops nothing, and is over when it is over', () => {
  test.each(EVERYTHING)('%s', (_name, what) => {
    const { bench, memory, clock, inTransfer } = trouble(what);
    expect(inTransfer).toBe(what.faults / 2);
    expectNoHang(bench);
    if (what.chips !== 'memory') expectRightClock(bench, clock);
    if (what.chips !== 'clock') expectWholeLog(bench, memory);
  });

  test('but an image that waits for a line without end hangs until its watchdog (negative control)', ({
    skip,
  }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const causes = (image?: string) => {
      // The second scan is stored some 11 s after power-on.
      const i2cFaults = [{ kind: 'scl-low', fromMs: 10_500, toMs: 14_000 } as const];
      const probes = [{ rom: manyRoms(1)[0] ?? '' }];
      const bench = new Bench({
        probes,
        memory: new SerialMemory(),
        i2cFaults,
        ...(image && { hex: image }),
      });
      return bench
        .run(20_000)
        .of('B')
        .flatMap(({ sequence, fields }) => (sequence === 0 ? fields[3] : []));
    };
    expect(causes()).toEqual(['P']);
    expect(causes(broken('the wait for the clock line of I2C ends').hex)).toEqual(
      expect.arrayContaining(['P', 'W']),
    );
  });
});

/** A board whose memory holds zeros in its first page, so that a chip that is read there holds the data line. */
function boardWithRing(image?: string) {
  const memory = new WatchedMemory({ bytes: writtenRing(700) });
  const bench = new Bench({
    probes: manyRoms(2).map((rom) => ({ rom })),
    memory,
    hostListens: false,
    ...(image && { hex: image }),
  });
  return { bench, memory };
}

/** Resets the board in the middle of reading the memory at its boot, `count` times; how often that left the line held. */
function resetWhileReading(count: number, cause: 'external' | 'watchdog', image?: string) {
  const { bench, memory } = boardWithRing(image);
  const chance = seededChance(31);
  let held = 0;
  for (let reset = 0; reset < count; reset += 1) {
    let bytesLeft = 50 + Math.floor(chance.uniform() * 5000);
    let stopAtMs = Number.POSITIVE_INFINITY;
    memory.onByte = (ms) => {
      bytesLeft -= 1;
      if (bytesLeft === 0) stopAtMs = ms + chance.uniform() * 0.05;
    };
    const giveUpMs = bench.board.ms + 10_000;
    while (bench.board.ms < Math.min(stopAtMs, giveUpMs)) bench.run(bench.board.ms + 0.1);
    memory.onByte = () => {};
    if (cause === 'external') bench.board.reset('external');
    else {
      hang(bench);
      bench.run(bench.board.ms + 2500);
    }
    const us = bench.board.ms * 1000 + 1;
    if (cause === 'external' && !bench.i2c.sdaIsHigh(us)) held += 1;
  }
  return { bench, held };
}

describe('a reset while the memory is being read', () => {
  const isMounted = (bench: Bench) => {
    bench.run(bench.board.ms + 4000);
    const { fields } = bench.of('J').at(-1) ?? { fields: [] };
    return { store: fields[0], open: Number.parseInt(fields[2] ?? '', 16) };
  };

  test('leaves the data line held, and the board clocks it free: by the reset pin', () => {
    const { bench, held } = resetWhileReading(30, 'external');
    expect(held).toBeGreaterThanOrEqual(10);
    expect(bench.of('W')).toEqual([]);
    expect(isMounted(bench)).toEqual({ store: 'M', open: 700 });
    expect(bench.of('B').at(-1)?.boot).toBe(31);
  });

  test('and by the watchdog', () => {
    const { bench } = resetWhileReading(4, 'watchdog');
    expect(bench.of('W')).toEqual([]);
    expect(isMounted(bench)).toEqual({ store: 'M', open: 700 });
    expect(bench.of('B').filter(({ sequence, fields }) => sequence === 0 && fields[3] === 'W')).toHaveLength(
      4,
    );
  });

  test('but an image that does not clock it free loses its memory (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const { bench, held } = resetWhileReading(
      10,
      'external',
      broken('a data line that a chip holds is clocked free').hex,
    );
    expect(held).toBeGreaterThanOrEqual(3);
    expect(bench.of('W').map(({ fields }) => fields[0])).toContain('M');
  });
});

test('a line that a chip holds after a transfer of somebody else is clocked free within some minutes', () => {
  const { bench, memory } = boardWithRing();
  bench.run(30_000);
  memory.bytes.fill(0, 0, 65_536);
  const stranger = new I2cMaster(bench.i2c);
  stranger.us = bench.board.ms * 1000 + 100;
  expect(stranger.start(MEMORY_READ)).toBe(true);
  bench.i2c.driveScl(false, stranger.us + 5);
  expect(bench.i2c.sdaIsHigh(stranger.us + 10)).toBe(false);
  bench.run(bench.board.ms + 60_000);
  expect(bench.of('W').map(({ fields }) => fields[0])).toEqual(['M']);
  bench.run(bench.board.ms + 1_500_000);
  expect(bench.of('W').map(({ fields }) => fields[0])).toEqual(['M', 'B']);
  expect(bench.of('B').filter(({ sequence }) => sequence === 0)).toHaveLength(1);
});
