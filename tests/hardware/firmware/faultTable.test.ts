import { describe, expect, test } from 'vitest';
import type { CarrierEvent } from '../../../src/carrier/events.js';
import { readLines } from '../../../src/carrier/readLines.js';
import { readPage } from '../../../src/carrier/wire/logPage.js';
import type { Fault, FaultKind } from '../../../src/emulator/faults.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { trustworthy } from '../../../src/exposure/trustworthy.js';
import { monotonicMs, utcMs } from '../../../src/units/time.js';
import { Bench, crc8OfBits, manyRoms, ROMS } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';

const [ROM, OTHER] = ROMS;
const CELSIUS = 31;
const OTHER_CELSIUS = 12;

/** What the host makes of everything that the board sent. */
async function heard(bench: Bench): Promise<CarrierEvent[]> {
  const clock = { utc: () => utcMs(0), steady: () => monotonicMs(0) };
  const events: CarrierEvent[] = [];
  const { input } = readLines(clock, (event) => events.push(event));
  await new Promise((resolve) =>
    input.end(bench.lines.map(({ text }) => text).join(''), () => resolve(null)),
  );
  await new Promise((resolve) => setImmediate(() => setImmediate(resolve)));
  return events;
}
const readingsOf = (events: readonly CarrierEvent[]) =>
  events.flatMap((event) =>
    event.kind === 'scan' ? event.readings.map((reading) => ({ ...reading, scan: event.scan })) : [],
  );
const isObservation = (status: string, raw: number | null) => typeof trustworthy(status, raw) === 'number';

/** A scratchpad with its CRC, in place of what the thermometer would send. */
const sealed = (...bytes: number[]) => Uint8Array.from([...bytes, crc8OfBits(bytes)]);
const instead = (make: (bytes: Uint8Array) => Uint8Array) => (bench: Bench) => {
  const [thermometer] = bench.thermometers;
  if (thermometer) thermometer.garble = make;
};

/** Scans begin near 0.4, 10.4, 20.4 ... s and are read 0.8 s later: the third scan is the one that is looked at. */
const DURING_THIRD_MS = [15_000, 25_000] as const;
const AFTER_CONVERSION_BEGAN_MS = [20_900, 25_000] as const;
const fault = (kind: FaultKind, [fromMs, toMs]: readonly [number, number], rom?: string): Fault => ({
  kind,
  fromMs,
  toMs,
  ...(rom !== undefined && { rom }),
});

interface Row {
  readonly what: string;
  readonly faults?: readonly Fault[];
  /** Done to the bench at 15 s. */
  readonly arrange?: (bench: Bench) => void;
  readonly celsius?: number;
  /** The firmware's letter, the host's word, and the raw sixteenths. */
  readonly letter: string;
  readonly status: string;
  readonly raw: number | null;
  /** The other probe on the bus is none the worse. */
  readonly others?: 'ok' | 'missing';
}

const BOTH_LEADS = [ROM, OTHER].map((rom) => fault('loose-lead', DURING_THIRD_MS, rom));
const ROWS: readonly Row[] = [
  { what: 'none', letter: '+', status: 'ok', raw: 496 },
  {
    what: 'its lead comes loose',
    faults: [fault('loose-lead', DURING_THIRD_MS, ROM)],
    letter: 'M',
    status: 'missing',
    raw: null,
  },
  {
    what: 'the trunk is open',
    faults: BOTH_LEADS,
    letter: 'M',
    status: 'missing',
    raw: null,
    others: 'missing',
  },
  {
    what: 'the bus is shorted',
    faults: [fault('short', DURING_THIRD_MS)],
    letter: 'M',
    status: 'missing',
    raw: null,
    others: 'missing',
  },
  {
    what: 'a bit of its scratchpad is wrong',
    faults: [fault('damaged-scratchpad', DURING_THIRD_MS, ROM)],
    letter: 'C',
    status: 'bad-crc',
    raw: null,
  },
  {
    what: 'it sends zeros',
    faults: [fault('all-zero', DURING_THIRD_MS, ROM)],
    letter: 'Z',
    status: 'all-zero',
    raw: null,
  },
  {
    what: 'it sends ones',
    arrange: instead(() => new Uint8Array(9).fill(0xff)),
    letter: 'M',
    status: 'missing',
    raw: null,
  },
  {
    what: 'it restarted before the conversion',
    faults: [fault('restart', DURING_THIRD_MS, ROM)],
    letter: 'R',
    status: 'restarted',
    raw: 496,
  },
  {
    what: 'it restarted during the conversion: 85.0',
    faults: [fault('restart', AFTER_CONVERSION_BEGAN_MS, ROM)],
    letter: 'N',
    status: 'not-converted',
    raw: 1360,
  },
  {
    what: '127.9375',
    arrange: instead(() => sealed(0xff, 0x07, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10)),
    letter: 'N',
    status: 'not-converted',
    raw: 2047,
  },
  {
    what: 'a clone that wakes with 25.0',
    faults: [fault('clone-power-up-25', AFTER_CONVERSION_BEGAN_MS, ROM)],
    letter: 'R',
    status: 'restarted',
    raw: 400,
  },
  {
    what: 'it does not keep 12 bit',
    arrange: instead((bytes) => sealed(...bytes.map((byte, at) => (at === 4 ? 0x1f : byte)).subarray(0, 8))),
    letter: 'K',
    status: 'bad-configuration',
    raw: 496,
  },
  // Converted and whole, so the board says it; no air of a cup has it, so the host does not use it.
  { what: '85.0 that was converted', celsius: 85, letter: '+', status: 'ok', raw: 1360 },
];

describe('each fault is classified by the firmware and by the host, live and from the log', () => {
  test.each(ROWS)(
    '$what: $letter, $status',
    async ({ faults, arrange, celsius, letter, status, raw, others }) => {
      const bench = new Bench({
        probes: [
          { rom: ROM, celsius: celsius ?? CELSIUS },
          { rom: OTHER, celsius: OTHER_CELSIUS },
        ],
        faults: faults ?? [],
        memory: new SerialMemory(),
      }).run(15_000);
      arrange?.(bench);
      bench.run(26_000);
      for (const thermometer of bench.thermometers) if (arrange) thermometer.garble = null;
      bench.run(60_000);
      expect(bench.scans()[2]?.of.get(ROM)).toEqual({ status: letter, raw });
      expect(bench.ask('R', '000001', 'FFFF')[0]).toBe('K');
      bench.run(bench.board.ms + 3000);

      const events = await heard(bench);
      expect(events.filter((event) => event.kind === 'discarded')).toEqual([]);
      const readings = readingsOf(events);
      expect(readings.find(({ scan, rom }) => scan === 3 && rom === ROM)).toMatchObject({ status, raw });
      expect(readings.find(({ scan, rom }) => scan === 3 && rom === OTHER)).toMatchObject(
        others === 'missing' ? { status: 'missing', raw: null } : { status: 'ok', raw: OTHER_CELSIUS * 16 },
      );
      // The log says the same of every scan that it holds, without the raw value of what is no observation.
      const logged = events.flatMap((event) => (event.kind === 'log-page' ? [readPage(event.bytes)] : []));
      const scans = logged.flatMap((page) => (page?.kind === 'scans' ? page.scans : []));
      expect(scans.map(({ scan }) => scan)).toEqual([2, 3, 4, 5, 6]);
      for (const { scan, values } of scans)
        for (const [index, value] of values.entries()) {
          const seen = readings.find((reading) => reading.scan === scan && reading.index === index);
          expect(value).toEqual({ status: seen?.status, raw: seen?.status === 'ok' ? seen.raw : null });
        }
      // Nothing but what the probes had passes for an observation, in any scan.
      const truth = new Map<string, number>([
        [ROM, (celsius ?? CELSIUS) * 16],
        [OTHER, OTHER_CELSIUS * 16],
      ]);
      const used = readings.filter((reading) => isObservation(reading.status, reading.raw));
      expect(used.filter(({ rom, raw: value }) => value !== truth.get(rom))).toEqual([]);
      expect(used.some(({ rom, scan }) => rom === ROM && scan === 3)).toBe(letter === '+' && celsius !== 85);
      // And it is over when it is over: the last scan is used again.
      expect(used.some(({ rom, scan }) => rom === ROM && scan === 6)).toBe(celsius !== 85);
    },
  );

  test('a probe whose CRC is wrong from power-on is named, told damaged, and used once it is right', async () => {
    const faults = [fault('damaged-scratchpad', [0, 40_000], ROM)];
    const bench = new Bench({ probes: [{ rom: ROM, celsius: CELSIUS }, { rom: OTHER }], faults }).run(90_000);
    const readings = readingsOf(await heard(bench)).filter(({ rom }) => rom === ROM);
    expect(readings.slice(0, 3).map(({ status }) => status)).toEqual(['bad-crc', 'bad-crc', 'bad-crc']);
    expect(readings.at(-1)).toMatchObject({ status: 'ok', raw: CELSIUS * 16 });
  });

  test.skipIf(WHY_NO_BUILD !== null).each([
    ['a thermometer is believed with its CRC only', 'a bit of its scratchpad is wrong'],
    ['nine zeros are no scratchpad', 'it sends zeros'],
    ['a probe that restarted shows by its mark', 'a clone that wakes with 25.0'],
    ['a probe that is not at 12 bit is not believed', 'it does not keep 12 bit'],
    ['what a probe holds before its first conversion is no temperature', '127.9375'],
  ] as const)('an image in which not %s is found out (negative control)', (rule, what) => {
    const row = ROWS.find((each) => each.what === what)!;
    const bench = new Bench({
      hex: broken(rule).hex,
      probes: [{ rom: ROM, celsius: CELSIUS }, { rom: OTHER }],
      faults: row.faults ?? [],
    }).run(15_000);
    row.arrange?.(bench);
    bench.run(30_000);
    const letter = bench.scans()[2]?.of.get(ROM)?.status;
    expect(letter).toBeDefined();
    expect(letter).not.toBe(row.letter);
  });

  test('a probe that is not there is in no table and has no reading', async () => {
    const faults = [fault('loose-lead', [0, 100_000], ROM)];
    const bench = new Bench({ probes: [{ rom: ROM }, { rom: OTHER }], faults }).run(30_000);
    const readings = readingsOf(await heard(bench));
    expect(new Set(readings.map(({ rom }) => rom))).toEqual(new Set([OTHER]));
  });
});

describe('bits that flip', () => {
  test('at one in a thousand: of more than 1000 flips no wrong value is accepted', async () => {
    const roms = manyRoms(16);
    const truth = new Map(roms.map((rom, index) => [rom, 16 * (5 + index) + index]));
    const bench = new Bench({
      probes: roms.map((rom, index) => ({ rom, celsius: 5 + index + index / 16 })),
      faults: [fault('rare-bit-flips', [9000, 1e9])],
    }).run(8_500_000);
    const readings = readingsOf(await heard(bench)) as { rom: string; status: string; raw: number | null }[];
    const bad = readings.filter(({ status }) => status === 'bad-crc').length;
    const used = readings.filter(({ status, raw }) => isObservation(status, raw));
    // Those of the searches are flips too; a search costs no reading.
    expect(bench.bus.flips).toBeGreaterThan(1000);
    expect(bad).toBeGreaterThan(700);
    expect(readings.length).toBeGreaterThan(13_000);
    expect(used.length).toBeGreaterThan(0.9 * readings.length);
    expect(used.filter(({ rom, raw }) => raw !== truth.get(rom))).toEqual([]);
    expect(
      bench
        .tables()
        .flatMap(({ roms: found }) => [...found.values()])
        .every((rom) => truth.has(rom)),
    ).toBe(true);
  });

  test('each single bit and each pair of the nine bytes is noticed', () => {
    const bits = 72;
    const patterns = Array.from({ length: bits }, (_, one) => [one]).concat(
      Array.from({ length: bits }, (_, one) =>
        Array.from({ length: bits - one - 1 }, (_other, more) => [one, one + more + 1]),
      ).flat(),
    );
    expect(patterns).toHaveLength(72 + (72 * 71) / 2);
    const roms = manyRoms(16);
    const bench = new Bench({ probes: roms.map((rom) => ({ rom, celsius: 20.5 })) }).run(15_000);
    const flipped = patterns[Symbol.iterator]();
    let sent = 0;
    for (const thermometer of bench.thermometers)
      thermometer.garble = (bytes) => {
        const pattern = flipped.next().value ?? [0];
        sent += 1;
        const flippedBytes = Uint8Array.from(bytes);
        for (const bit of pattern) flippedBytes[bit >> 3] = (flippedBytes[bit >> 3] ?? 0) ^ (1 << (bit & 7));
        return flippedBytes;
      };
    bench.run(15_000 + 10_000 * Math.ceil(patterns.length / 16) + 5000);
    expect(sent).toBeGreaterThanOrEqual(patterns.length);
    const statuses = bench
      .scans()
      .slice(2)
      .flatMap(({ of }) => [...of.values()].map(({ status }) => status));
    expect(statuses.length).toBe(sent);
    expect(statuses.every((status) => status === 'C')).toBe(true);
  });
});
