import { describe, expect, it } from 'vitest';
import type { CarrierEvent, ProbeStatus } from '../../src/carrier/events.js';
import { selfTest } from '../../src/carrier/selfTest.js';
import { parseBoardId, parseRomId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { inventedRom } from '../visit/situation.js';
import { ROMS } from './wire/lines.js';

const UTC = 1_778_587_200_000;
const [rom, other] = [parseRomId(ROMS[0])!, parseRomId(ROMS[1])!];
const at = (ms: number, ppm = 0) => ({
  arrival: { utc: utcMs(UTC + ms), monotonic: monotonicMs(ms) },
  boardMs: boardMs(ms * (1 + ppm / 1e6)),
  board: parseBoardId('0A1B2C3D')!,
  bootCount: 1,
});
const scan = (number: number, values: readonly [number | null, ProbeStatus][]): CarrierEvent => ({
  kind: 'scan',
  ...at(number * 10_000),
  scan: number,
  table: 1,
  readings: values.map(([raw, status], index) => ({ rom: index === 0 ? rom : other, index, raw, status })),
});
const said = (
  change: { boot?: object; log?: object; clock?: object; ppm?: number; scans?: CarrierEvent[] } = {},
): CarrierEvent[] => [
  {
    kind: 'boot',
    ...at(0),
    resetCause: 'external',
    firmwareVersion: '0.3.0',
    protocolVersion: 3,
    clock: 'running',
    ...change.boot,
  },
  {
    kind: 'log-state',
    ...at(1),
    store: 'memory',
    oldest: 1,
    open: 2,
    acknowledged: 1,
    room: 510,
    ...change.log,
  },
  { kind: 'clock', ...at(2), clock: 'running', utc: utcMs(UTC), sets: 1, ...change.clock },
  {
    kind: 'probes',
    ...at(3),
    table: 1,
    probes: [
      { index: 0, rom },
      { index: 1, rom: other },
    ],
  },
  ...Array.from(
    { length: 61 },
    (_, second): CarrierEvent => ({ kind: 'heartbeat', ...at(second * 1000, change.ppm ?? 0) }),
  ),
  ...(change.scans ??
    [1, 2, 3, 4].map((number) =>
      scan(number, [
        [400, 'ok'],
        [401 + (number % 2), 'ok'],
      ]),
    )),
];
const failed = (events: CarrierEvent[], expected: number | null = 2) =>
  selfTest(events, expected)
    .filter(({ passed }) => passed === false)
    .map(({ what }) => what);

describe('selfTest()', () => {
  it('passes a carrier that is in order', () => {
    expect(failed(said())).toEqual([]);
  });

  it.each<[string, CarrierEvent[], string[]]>([
    ['a memory that does not answer', said({ log: { store: 'ram' } }), ['serial memory']],
    ['a clock that stopped', said({ clock: { clock: 'stopped', utc: null } }), ['clock']],
    ['a clock that is missing', said({ clock: { clock: 'absent', utc: null } }), ['clock']],
    ['a supply that sagged', said({ boot: { resetCause: 'brown-out' } }), ['supply']],
    ['a counter that is no quartz', said({ ppm: 3000 }), ['counter']],
    [
      'a restart meanwhile',
      [...said(), { ...said()[0]!, bootCount: 2 } as CarrierEvent],
      ['restarts meanwhile'],
    ],
    [
      'a probe with a damaged reading',
      said({
        scans: [
          scan(1, [
            [400, 'ok'],
            [null, 'bad-crc'],
          ]),
          scan(2, [
            [400, 'ok'],
            [400, 'ok'],
          ]),
        ],
      }),
      [other],
    ],
    [
      'a probe that restarted',
      said({
        scans: [
          scan(1, [
            [400, 'restarted'],
            [400, 'ok'],
          ]),
          scan(2, [
            [400, 'ok'],
            [400, 'ok'],
          ]),
        ],
      }),
      [rom],
    ],
    [
      'a probe that never answered',
      said({
        scans: [
          scan(1, [
            [400, 'ok'],
            [null, 'missing'],
          ]),
        ],
      }),
      [other],
    ],
    [
      'a probe whose CRC was never right',
      said({
        scans: [1, 2, 3].map((n) =>
          scan(n, [
            [400, 'ok'],
            [null, 'bad-crc'],
          ]),
        ),
      }),
      [other],
    ],
    [
      'a noisy probe',
      said({
        scans: [1, 2, 3, 4].map((n) =>
          scan(n, [
            [400, 'ok'],
            [400 + 8 * (n % 2), 'ok'],
          ]),
        ),
      }),
      [other],
    ],
    [
      'a probe far from the others',
      said({
        scans: [1, 2, 3].map((n) =>
          scan(n, [
            [400, 'ok'],
            [480, 'ok'],
          ]),
        ),
      }),
      [rom, other],
    ],
    [
      'many damaged lines',
      [
        ...said(),
        ...Array.from(
          { length: 3 },
          (): CarrierEvent => ({ kind: 'discarded', arrival: at(9).arrival, reason: 'bad-crc', bytes: 9 }),
        ),
      ],
      ['lines'],
    ],
  ])('finds %s', (_name, events, what) => {
    expect(failed(events)).toEqual(what);
  });

  it('counts the probes against what was built in', () => {
    expect(failed(said(), 10)).toEqual(['probes']);
    expect(failed(said(), null)).toEqual([]);
  });

  it('names probes by slot, in the order of the slots, and the one that is not found', () => {
    const gone = inventedRom(7);
    const slots = new Map([
      [other, 'A:1'],
      [gone, 'A:2'],
      [rom, 'A:3'],
    ]);
    const rows = selfTest(said(), null, slots).filter(({ slot }) => slot !== null);
    expect(rows.map(({ slot, what, passed }) => [slot, what, passed])).toEqual([
      ['A:1', other, true],
      ['A:2', gone, false],
      ['A:3', rom, true],
    ]);
    expect(rows[1]!.found).toBe('not found');
    // As many are expected as have a slot, unless it is told otherwise.
    expect(selfTest(said(), null, slots).filter(({ passed }) => passed === false)).toHaveLength(2);
    expect(selfTest(said(), 2, slots).filter(({ passed }) => passed === false)).toHaveLength(1);
  });

  it('keeps a probe that has no slot on record', () => {
    const rows = selfTest(said(), 2, new Map([[rom, 'A:1']]));
    expect(rows.filter(({ what }) => what === rom || what === other).map(({ slot }) => slot)).toEqual([
      'A:1',
      null,
    ]);
  });

  it('says how exactly the counter was measured, and judges it only when that suffices', () => {
    // 40 ms of arrival in 60 s are 667 ppm, in 600 s 67 ppm: arithmetic.
    const counter = (ppm: number, length: number) => {
      const beats = Array.from(
        { length },
        (_, second): CarrierEvent => ({ kind: 'heartbeat', ...at(second * 1000, ppm) }),
      );
      const others = said().filter(({ kind }) => kind !== 'heartbeat');
      return selfTest([...others, ...beats], 2).find(({ what }) => what === 'counter')!;
    };
    expect(counter(100, 61)).toMatchObject({ passed: null });
    expect(counter(100, 61).found).toMatch(
      /^100 ppm, give or take \d+: too rough to say whether it is within 200 ppm/,
    );
    expect(counter(0, 61).found).toMatch(/^0 ppm/);
    expect(counter(100, 601)).toMatchObject({ passed: true });
    expect(counter(400, 601)).toMatchObject({ passed: false });
    expect(counter(-400, 601)).toMatchObject({ passed: false });
  });

  it('does not count a first conversion as a fault', () => {
    const scans = [
      scan(1, [
        [400, 'first-conversion'],
        [400, 'first-conversion'],
      ]),
      scan(2, [
        [400, 'ok'],
        [400, 'ok'],
      ]),
    ];
    expect(failed(said({ scans }))).toEqual([]);
  });

  it('fails when nothing was heard', () => {
    expect(failed([])).toEqual(['board', 'serial memory', 'clock', 'counter', 'probes']);
  });
});
