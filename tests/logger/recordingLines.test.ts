import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { type Entry, entryLine, HEADER, readEntryLine } from '../../src/logger/recordingLines.js';
import { parseBoardId, parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';

// ROM id that checks: published clone report, CC BY
const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;
const board = parseBoardId('0A1B2C3D')!;
const arrival = { utc: utcMs(1_778_587_200_123), monotonic: monotonicMs(12_345.678901) };
const told = { arrival, boardMs: boardMs(250), board, bootCount: 3 };

/** One event of each kind that a source can say. */
const EVENTS: { readonly [Kind in CarrierEvent['kind']]: Extract<CarrierEvent, { kind: Kind }> } = {
  boot: {
    kind: 'boot',
    ...told,
    resetCause: 'brown-out',
    firmwareVersion: '0.1.0',
    protocolVersion: 2,
    clock: 'stopped',
  },
  probes: { kind: 'probes', ...told, table: 1, probes: [{ index: 0, rom }] },
  scan: {
    kind: 'scan',
    ...told,
    scan: 7,
    table: 1,
    readings: [
      { rom, index: 0, raw: -8, status: 'ok' },
      { rom, index: 0, raw: null, status: 'missing' },
    ],
  },
  heartbeat: { kind: 'heartbeat', ...told },
  answer: { kind: 'answer', arrival, command: null, commandSequence: 0, result: 'bad-crc', values: ['0A'] },
  'log-page': { kind: 'log-page', ...told, page: 9, bytes: Uint8Array.from([0, 1, 254, 255]) },
  'log-state': { kind: 'log-state', ...told, store: 'ram', oldest: 1, open: 2, acknowledged: 0, room: 3 },
  clock: { kind: 'clock', ...told, clock: 'running', utc: utcMs(1_778_587_200_000), sets: 3 },
  mark: { kind: 'mark', ...told, mark: 255, markBoot: 2, markMs: boardMs(5), utc: null, sets: 1 },
  settings: { kind: 'settings', ...told, periodWithHostSeconds: 10, periodAloneSeconds: 20, slots: 1 },
  'slot-setting': { kind: 'slot-setting', ...told, slot: 1, rom, cold: 249, hot: null, due: null },
  alarms: { kind: 'alarms', ...told, act: [1, 16], due: [], isMuted: true },
  warning: { kind: 'warning', ...told, warning: 'probe-lost', detail: 3 },
  discarded: { kind: 'discarded', arrival, reason: 'bad-crc', bytes: 40 },
  link: { kind: 'link', arrival, state: 'note', detail: 'Zürich *1234' },
};
const entries: Entry[] = [
  HEADER,
  {
    is: 'source',
    source: 0,
    name: '/dev/ttyUSB0',
    carrier: parseCarrierId('A'),
    anchor: { utc: arrival.utc, monotonic: arrival.monotonic },
  },
  ...Object.values(EVENTS).map((event): Entry => ({ is: 'event', source: 0, now: arrival.utc, event })),
  { is: 'take-in', source: 0, now: arrival.utc },
  { is: 'take-in', source: 0, now: arrival.utc, isPart: true },
  { is: 'lost-pages', source: 0, now: arrival.utc, board, first: 3, last: 4 },
];

describe('readEntryLine()', () => {
  it.each(entries.map((entry) => [entry.is === 'event' ? entry.event.kind : entry.is, entry] as const))(
    'gives back what entryLine() wrote: %s',
    (_, entry) => {
      expect(readEntryLine(entryLine(12, entry))).toEqual({ number: 12, entry });
    },
  );

  it('reads what was recorded of a board before boards told how often their clock was set', () => {
    const { sets: _, ...event } = EVENTS.clock;
    const entry = { is: 'event', source: 0, now: arrival.utc, event } as Entry;
    expect(readEntryLine(entryLine(3, entry))).toMatchObject({ entry: { event: { ...event, sets: null } } });
  });

  it('finds every change of one character, and every line that is cut off', () => {
    const line = entryLine(5, entries[4]!);
    for (let at = 0; at < line.length; at += 1) {
      const other = line[at] === '7' ? '8' : '7';
      expect(readEntryLine(line.slice(0, at) + other + line.slice(at + 1)), `character ${at}`).toHaveProperty(
        'bad',
      );
      expect(readEntryLine(line.slice(0, at)), `cut at ${at}`).toHaveProperty('bad');
    }
  });

  it('does not guess at what a later version may have written', () => {
    const later = entryLine(1, { ...HEADER, version: 2 } as never);
    expect(readEntryLine(later)).toEqual({ bad: 'holds something this version does not know (version)' });
    const event = { ...EVENTS.heartbeat, mood: 'fair' };
    const odd = entryLine(2, { is: 'event', source: 0, now: arrival.utc, event });
    expect(readEntryLine(odd)).toHaveProperty('bad');
  });
});
