import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { type Bench, command, type Line, parseLine } from '../../emulator/bench.js';
import { CLOCK_MS, compare, TURN_MS, timelessPage, withoutBeats } from './agreement.js';
import { buildSimavrBoard, type SimavrRun, WHY_NO_SIMAVR } from './run.js';
import { CONSTANT, ROMS, runEmulated, script } from './scenario.js';

/** Every letter of the table of frames in docs/wire-protocol.md. */
const FRAMES = [...'BPSHALJCMTEYW'].sort();
const PAGE_BYTES = 128;

const linesOf = ({ sent }: SimavrRun): Line[] =>
  sent.map(({ text, atMs }) => parseLine(text, atMs)).filter((line) => line !== null);

/** CRC-16/CCITT-FALSE over bytes. */
function crcOf(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit += 1) crc = ((crc << 1) ^ (crc & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return crc;
}

/** The pages that `L` lines carried, in order. */
function pagesSent(lines: readonly Line[]): Uint8Array[] {
  const pages = new Map<string, string>();
  for (const { kind, fields } of lines)
    if (kind === 'L') pages.set(fields[0] ?? '', (pages.get(fields[0] ?? '') ?? '') + fields[2]);
  return [...pages.values()].map((bytes) => new Uint8Array(Buffer.from(bytes, 'hex')));
}

function pagesOf({ bytes }: SerialMemory): Uint8Array[] {
  return Array.from({ length: bytes.length / PAGE_BYTES }, (_, at) =>
    bytes.slice(at * PAGE_BYTES, (at + 1) * PAGE_BYTES),
  ).filter((page) => page.some((byte) => byte !== 0xff));
}

/** Edges that the piezo's pin makes, by its tones. */
function edgesOf({ outputs, board }: Bench): number {
  return outputs.reduce(
    (sum, { toneHz, atMs }, at) =>
      sum + (((outputs[at + 1]?.atMs ?? board.ms) - atMs) / 1000) * 2 * (toneHz ?? 0),
    0,
  );
}

describe.skipIf(WHY_NO_SIMAVR !== null)(
  `the image on Debian's simavr${WHY_NO_SIMAVR === null ? '' : `: ${WHY_NO_SIMAVR}`}`,
  () => {
    let simavr: ReturnType<typeof buildSimavrBoard>;
    let emulated: ReturnType<typeof runEmulated>;
    let other: SimavrRun;
    let lines: Line[];

    beforeAll(() => {
      simavr = buildSimavrBoard();
      emulated = runEmulated();
      other = simavr.run(script());
      lines = linesOf(other);
    });
    afterAll(() => simavr.remove());

    test('sends the same lines as on the emulated board: all fields equal, times within 2 ms', () => {
      const { differences, late } = compare(emulated.bench.lines, lines);
      expect(differences).toEqual([]);
      // What waits for a turn of the loop that mounts the log or searches the bus.
      expect(late).toBeLessThanOrEqual(lines.length / 50);
      // Each boot begins with an empty line.
      expect(other.sent.length - lines.length).toBe(2);
      expect(emulated.bench.scraps).toHaveLength(2);
    });

    test('sends the same lines, at other times, on simavr as Debian gives it', () => {
      const asIs = linesOf(simavr.run(script(), '--as-is'));
      // A turn later, a heartbeat may come between other lines than here; all others are equal, and none is missing.
      const { differences, late } = compare(withoutBeats(emulated.bench.lines), withoutBeats(asIs));
      expect(differences).toEqual([]);
      expect(late).toBeGreaterThan(50);
      const beats = (all: readonly Line[]) => all.filter(({ kind }) => kind === 'H').length;
      expect(Math.abs(beats(asIs) - beats(emulated.bench.lines))).toBeLessThanOrEqual(2);
    });

    test('sends every kind of line, and readings with five statuses', () => {
      expect([...new Set(lines.map(({ kind }) => kind))].sort()).toEqual(FRAMES);
      const statuses = lines
        .filter(({ kind }) => kind === 'S')
        .flatMap(({ fields }) => fields.slice(2).map((entry) => entry[1]));
      expect([...new Set(statuses)].sort()).toEqual(['+', 'C', 'F', 'M', 'R']);
      expect(lines.at(-1)?.boot).toBe(2);
    });

    test('reads the temperatures that the thermometers have', () => {
      const index = new Map(
        lines
          .filter(({ kind }) => kind === 'P')
          .flatMap(({ fields }) => fields.slice(2).map((entry) => [entry.slice(2), entry[0]] as const)),
      );
      const entries = lines.filter(({ kind }) => kind === 'S').flatMap(({ fields }) => fields.slice(2));
      for (const [probe, sixteenths] of CONSTANT.entries()) {
        const letter = index.get(ROMS[probe]?.replaceAll('-', '') ?? '');
        const readings = entries.filter((entry) => entry.startsWith(`${letter}+`));
        expect(readings.length).toBeGreaterThan(12);
        const raw = (sixteenths & 0xffff).toString(16).toUpperCase().padStart(4, '0');
        expect(new Set(readings)).toEqual(new Set([`${letter}+${raw}`]));
      }
    });

    test('writes the same pages, and sends them as the memory holds them', () => {
      const sent = pagesSent(lines);
      expect(sent.length).toBeGreaterThanOrEqual(8);
      for (const page of other.pages) expect(page[0]! | (page[1]! << 8)).toBe(crcOf(page.subarray(2)));
      const held = new Set(other.pages.map((page) => Buffer.from(page).toString('hex')));
      // The newest page has grown since.
      for (const page of sent.slice(0, -1)) expect(held).toContain(Buffer.from(page).toString('hex'));
      expect(other.pages.map(timelessPage)).toEqual(pagesOf(emulated.memory).map(timelessPage));
    });

    test('sets and reads the clock chip: stopped, set, running over a reset', () => {
      const clock = lines.filter(({ kind }) => kind === 'C').map(({ fields }) => fields);
      expect(clock[0]).toEqual(['S', '00000000', '00']);
      expect(clock).toContainEqual(['R', '6AB20000', '01']);
      const boot = lines.findIndex(({ boot, kind }) => boot === 2 && kind === 'C');
      // Set at 6.1 s, read at 202.1 s.
      expect(lines[boot]?.fields).toEqual(['R', (0x6ab2_0000 + 195).toString(16).toUpperCase(), '01']);
    });

    test('is reset by the watchdog about two seconds after the program hung', () => {
      const [first, second] = lines.filter(({ kind, sequence }) => kind === 'B' && sequence === 0);
      expect([first?.fields[3], second?.fields[3]]).toEqual(['P', 'W']);
      expect(second?.atMs).toBeGreaterThan(201_900);
      expect(second?.atMs).toBeLessThan(202_500);
    });

    test('keeps the datasheets’ windows on both buses, and sends at 38462 baud', () => {
      expect(other.sums.get('onewire-violations')).toBe(0);
      expect(other.sums.get('i2c-violations')).toBe(0);
      expect(other.sums.get('driven-high')).toBe(0);
      // 16 clocks x (25 + 1) x 10 bits: ATmega328P datasheet, table "Equations for calculating baud rate register setting".
      expect(Math.abs((other.sums.get('byte-cycles') ?? 0) - 4160)).toBeLessThanOrEqual(1);
    });

    test('blinks and sounds alike', () => {
      const led = emulated.bench.outputs.filter(
        ({ ledIsOn }, at, all) => ledIsOn !== (all[at - 1]?.ledIsOn ?? false),
      );
      expect(led.length).toBeGreaterThan(100);
      expect(other.led.map(({ isOn }) => isOn)).toEqual(led.map(({ ledIsOn }) => ledIsOn));
      const apart = led.map(({ atMs }, at) => Math.abs(atMs - (other.led[at]?.atMs ?? 0)));
      expect(Math.max(...apart)).toBeLessThanOrEqual(TURN_MS);
      expect(apart.filter((ms) => ms > CLOCK_MS).length).toBeLessThanOrEqual(led.length / 50);
      const edges = edgesOf(emulated.bench);
      expect(edges).toBeGreaterThan(100_000);
      expect(Math.abs((other.sums.get('piezo-edges') ?? 0) / edges - 1)).toBeLessThan(0.01);
    });

    test('mounts its log after a reset in the middle of a read, which leaves the data line held', () => {
      const run = simavr.run(
        [
          `probe ${ROMS[0]?.replaceAll('-', '')}`,
          `65100 say ${command('R', 1, '000001', 'FFFF').trimEnd()}`,
          '65150 hang-in-read',
          '75000 end',
          '',
        ].join('\n'),
      );
      expect(run.sums.get('resets-with-sda-held')).toBe(1);
      const said = linesOf(run);
      const states = (boot: number) => said.filter((line) => line.boot === boot && line.kind === 'J');
      expect(states(1).at(-1)?.fields.slice(0, 3)).toEqual(['M', '000001', '000002']);
      expect(states(2)[0]?.fields.slice(0, 3)).toEqual(['M', '000001', '000002']);
    });

    test.each([
      ['crc', 40_000],
      ['sixteenth', 40_000],
      ['memory', 285_000],
    ] as const)('is told from a board whose models have a wrong %s (negative control)', (wrong, endMs) => {
      const theirs = linesOf(simavr.run(script(endMs), `--wrong=${wrong}`));
      const ours = emulated.bench.lines.slice(0, theirs.length);
      const kinds = compare(ours, theirs).differences.map(({ ours }) => ours?.[1]);
      if (wrong === 'crc') expect(kinds).toContain('S');
      // Nothing but the readings is touched, and all of them are.
      if (wrong === 'sixteenth') expect(kinds).toEqual(ours.flatMap(({ kind }) => (kind === 'S' ? 'S' : [])));
      if (wrong === 'memory') expect(kinds).toContain('L');
    });
  },
);

test('`compare()` finds a field, a line and a time that differ (negative control)', () => {
  const line = (text: string) => {
    const parsed = parseLine(`${text}\r\n`, 0);
    if (parsed === null) throw new Error(text);
    return parsed;
  };
  // The examples of docs/wire-protocol.md.
  const [boot, scan] = [
    line('$B,0001,0000,00000250,01,0.1.0,04803A6D,P,A*029E'),
    line('$S,0001,0006,0000032F,01,00000001,0F0140,1M----*40F1'),
  ];
  expect(compare([boot, scan], [boot, scan])).toEqual({ differences: [], late: 0 });
  expect(compare([boot, scan], [boot]).differences).toHaveLength(1);
  const other = { ...scan, fields: scan.fields.with(2, '0F0141') };
  expect(compare([boot, scan], [boot, other]).differences).toHaveLength(1);
  const later = { ...scan, boardMs: scan.boardMs + CLOCK_MS + 1 };
  expect(compare([scan], [later])).toEqual({ differences: [], late: 1 });
  expect(compare([scan], [{ ...scan, boardMs: scan.boardMs + 151 }]).differences).toHaveLength(1);
  expect(compare([scan], [{ ...scan, crcIsRight: false }]).differences).toHaveLength(1);
});
