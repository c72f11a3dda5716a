import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { join } from 'node:path';
import { StringDecoder } from 'node:string_decoder';
import { encodeBlock, hourOf } from '../store/block.js';
import type { ProvenReading } from '../store/gathered.js';
import { type BoardId, parseBoardId, parseRomId, type RomId } from '../units/ids.js';
import { boardMs, formatInstant, type UtcMs, utcMs } from '../units/time.js';
import { fileOf } from './checkTables.js';
import { cellObjection, headerLine } from './column.js';
import { DESCRIPTOR } from './descriptor.js';
import { type Finding, inFile, onLine } from './finding.js';
import { type Judging, type OffsetAt, usable } from './judging.js';
import { readingCells } from './readings.js';
import { blockKey, type SealedBlock, type SealedHours } from './sealedHours.js';
import { BOARD_PREFIX, READINGS, STORE_PREFIX } from './tables.js';

const FILE = fileOf(READINGS);
const hourKey = (rom: string, hour: number) => `${rom} ${hour}`;

export interface ReadingsCheck {
  readonly folder: string;
  /** The hours that each probe may be told of. */
  readonly hours: ReadonlyMap<string, readonly UtcMs[]>;
  readonly offsetAt: OffsetAt;
  readonly judging: Judging;
  /** The stores whose readings may be here. */
  readonly stores: ReadonlySet<string>;
  /** Null when the bundle has no chains that could prove a reading. */
  readonly sealed: SealedHours | null;
  /** Takes each reading in order. */
  readonly take: (told: ProvenReading, offset: number) => void;
}

export interface CheckedReadings {
  readonly findings: readonly Finding[];
  readonly readings: number;
  /** How many of them a chain proves. */
  readonly proven: number;
}

/** Reads the readings once: each row against its schema, each sealed hour against its fact, all of it into the rulings. */
export function checkReadings(check: ReadingsCheck): CheckedReadings {
  const findings: Finding[] = [];
  const wanted = new Set([...check.hours].flatMap(([rom, hours]) => hours.map((hour) => hourKey(rom, hour))));
  const proof = check.sealed === null ? null : sealedProof(check.sealed, wanted, findings);
  let [line, readings] = [0, 0];
  let last: Parsed | null = null;
  for (const text of linesOf(join(check.folder, FILE))) {
    line += 1;
    if (line === 1) {
      if (`${text}\r\n` === headerLine(READINGS)) continue;
      findings.push(
        onLine(FILE, 1, `does not name the columns ${READINGS.columns.map(({ name }) => name).join(',')}`),
      );
      break;
    }
    const row = parsedRow(text, line, check.offsetAt);
    if (!('told' in row)) {
      findings.push(row);
      continue;
    }
    readings += 1;
    if (last !== null && !isAfter(row, last))
      findings.push(
        onLine(
          FILE,
          line,
          'stands before or beside the row above it: rows are by probe, time, store and number, and each is there once',
        ),
      );
    last = row;
    const { reading } = row.told;
    if (!wanted.has(hourKey(reading.rom, hourOf(reading.utc))))
      findings.push(onLine(FILE, line, 'is of an hour that no exposure with this probe touches'));
    if (!check.stores.has(row.told.store))
      findings.push(onLine(FILE, line, `is ${row.told.store}, of which ${DESCRIPTOR} says nothing`, 'store'));
    proof?.take(row.told, line);
    check.take(row.told, row.offset);
    const celsius = usable(reading.status, reading.raw, row.offset);
    const objection = celsius === null ? null : check.judging.take(reading.rom, reading.utc, celsius);
    if (objection !== null) findings.push(onLine(FILE, line, objection));
  }
  if (!endsInLine(join(check.folder, FILE)))
    findings.push(onLine(FILE, line, 'does not end in CR LF, as every line of a bundle does'));
  return { findings, readings, proven: proof?.end() ?? 0 };
}

interface Parsed {
  readonly told: ProvenReading;
  readonly offset: number;
}

/** What a line tells, before anybody has looked whether it can be. */
function toldBy(cells: readonly string[]): ProvenReading {
  const [rom, time, , , raw, status, store, board, boot, scan, slotIndex, board_ms, id, sealed] =
    cells as readonly [string, ...string[]];
  return {
    store: store!.slice(STORE_PREFIX.length),
    sealed: sealed === '' ? null : Number(sealed),
    reading: {
      id: Number(id),
      rom: rom as RomId,
      board: board!.slice(BOARD_PREFIX.length) as BoardId,
      boot: Number(boot),
      scan: Number(scan),
      slotIndex: Number(slotIndex),
      boardMs: boardMs(Number(board_ms)),
      utc: utcMs(Date.parse(time!)),
      raw: raw === '' ? null : Number(raw),
      status: status!,
    },
  };
}

/** A line as a reading, or what is wrong with it. A line is right when the reading it gives is written just so. */
function parsedRow(text: string, line: number, offsetAt: OffsetAt): Parsed | Finding {
  const cells = text.split(',');
  const { columns } = READINGS;
  if (cells.length !== columns.length)
    return onLine(FILE, line, `has ${cells.length} cells, and the table has ${columns.length} columns`);
  const told = toldBy(cells);
  const { rom, board, status } = told.reading;
  if (!Number.isFinite(told.reading.utc)) return objectionIn(cells, cells, line);
  const offset = offsetAt(rom, told.reading.utc);
  const right = readingCells(told, told.reading.utc, offset);
  const isRight = right.every((cell, index) => cell === cells[index]) && isWord(status);
  return isRight && parseRomId(rom) === rom && parseBoardId(board) !== null
    ? { told, offset }
    : objectionIn(cells, right, line);
}

const isWord = (status: string): boolean => /^[a-z-]+$/.test(status);

function objectionIn(cells: readonly string[], right: readonly string[], line: number): Finding {
  for (const [index, column] of READINGS.columns.entries()) {
    const objection = cellObjection(cells[index]!, column);
    if (objection !== null) return onLine(FILE, line, objection, column.name);
  }
  const index = cells.findIndex((cell, place) => cell !== right[place]);
  const column = READINGS.columns[index];
  return column === undefined
    ? onLine(FILE, line, 'has a probe, a board or a status that cannot be')
    : onLine(
        FILE,
        line,
        `is ${JSON.stringify(cells[index])}, and the rest of the row gives ${JSON.stringify(right[index])}`,
        column.name,
      );
}

function isAfter({ told }: Parsed, { told: before }: Parsed): boolean {
  const [a, b] = [told.reading, before.reading];
  if (a.rom !== b.rom) return a.rom > b.rom;
  if (a.utc !== b.utc) return a.utc > b.utc;
  return told.store === before.store ? a.id > b.id : told.store > before.store;
}

/** Puts the sealed readings of one probe and hour after the other into blocks again, and compares their hashes. */
function sealedProof(sealed: SealedHours, wanted: ReadonlySet<string>, findings: Finding[]) {
  let hour = '';
  let lines: [number, number] = [0, 0];
  let groups = new Map<string, ProvenReading[]>();
  const seen = new Set<string>();
  let proven = 0;
  const flush = () => {
    for (const [key, group] of groups) {
      seen.add(key);
      const told = sealed.get(key);
      const objection = told === undefined ? 'no fact tells that they were sealed' : unproven(told, group);
      if (objection === null) proven += group.length;
      else
        findings.push(
          inFile(
            FILE,
            `lines ${lines[0]} to ${lines[1]}, the readings of probe ${group[0]!.reading.rom} from ${formatInstant(hourOf(group[0]!.reading.utc))} on, ${objection}`,
          ),
        );
    }
    groups = new Map();
  };
  return {
    take(told: ProvenReading, line: number) {
      const { rom, utc, board, boot } = told.reading;
      const here = hourKey(rom, hourOf(utc));
      if (here !== hour) {
        flush();
        hour = here;
        lines = [line, line];
      }
      lines[1] = line;
      if (told.sealed === null) return;
      const key = blockKey(rom, hourOf(utc), told.store, board, boot, told.sealed);
      const group = groups.get(key);
      if (group === undefined) groups.set(key, [told]);
      else group.push(told);
    },
    end(): number {
      flush();
      for (const [key, { readings, by }] of sealed) {
        const [rom, at] = key.split(' ') as [string, string];
        if (wanted.has(hourKey(rom, Number(at))) && !seen.has(key))
          findings.push(
            inFile(
              FILE,
              `the ${readings} readings of probe ${rom} from ${formatInstant(Number(at) as UtcMs)} on are missing that ${by} sealed`,
            ),
          );
      }
      return proven;
    },
  };
}

function unproven({ hash, readings, by }: SealedBlock, group: readonly ProvenReading[]): string | null {
  try {
    const bytes = encodeBlock(group.map(({ reading }) => reading));
    if (createHash('sha256').update(bytes).digest('hex') === hash) return null;
  } catch {
    // A number that no block can hold: not what was sealed.
  }
  return `are not the ${readings} that ${by} sealed`;
}

function endsInLine(path: string): boolean {
  const file = openSync(path, 'r');
  try {
    const end = Buffer.alloc(2);
    const { size } = fstatSync(file);
    return (
      size >= end.length && readSync(file, end, 0, end.length, size - end.length) > 0 && end.equals(CR_LF)
    );
  } finally {
    closeSync(file);
  }
}

const CR_LF = Buffer.from('\r\n');
const AT_ONCE = 1 << 20;

/** The lines of a file that ends each in CR LF. Read at once in the order asked for, so that a transaction can wait for it. */
function* linesOf(path: string): Generator<string> {
  const file = openSync(path, 'r');
  try {
    const decoder = new StringDecoder('utf8');
    const buffer = Buffer.alloc(AT_ONCE);
    let rest = '';
    for (;;) {
      const length = readSync(file, buffer);
      if (length === 0) break;
      const lines = (rest + decoder.write(buffer.subarray(0, length))).split('\r\n');
      rest = lines.pop()!;
      yield* lines;
    }
    if (rest !== '') yield rest;
  } finally {
    closeSync(file);
  }
}

/** The readings of a bundle that was checked, those of one probe and hour after the other. */
export function* readingsByHour(folder: string): Generator<readonly ProvenReading[]> {
  let group: ProvenReading[] = [];
  let hour = '';
  let line = 0;
  for (const text of linesOf(join(folder, FILE))) {
    line += 1;
    if (line === 1) continue;
    const told = toldBy(text.split(','));
    const here = hourKey(told.reading.rom, hourOf(told.reading.utc));
    if (here !== hour && group.length > 0) {
      yield group;
      group = [];
    }
    hour = here;
    group.push(told);
  }
  if (group.length > 0) yield group;
}
