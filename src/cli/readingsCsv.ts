import { isPlausible } from '../exposure/trustworthy.js';
import type { Exposure, Observation } from '../exposure/types.js';
import { parseDecimal } from '../units/number.js';
import { Refusal } from '../units/refusal.js';
import { type Celsius, celsius } from '../units/temperature.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import { type CsvColumns, type CsvRow, readCsv } from './csv.js';
import { instantIn, textIn } from './csvCells.js';

const COLUMNS: CsvColumns = { required: ['probe', 'time', 'celsius'], optional: ['flag'] };

export interface ReadingsFile {
  /** The trustworthy observations of a probe inside the seatings, sorted by time. */
  observationsOf(probe: string): readonly Observation[];
  /** Rows that are flagged, hence not used. */
  readonly flagged: number;
  /** Rows without a flag whose temperature no air of a cup can have, hence not used. */
  readonly implausible: number;
  /** Probes of the exposures that no row of the file names. */
  readonly absentProbes: readonly string[];
}

interface ReadingRow extends Observation {
  readonly line: number;
}

/**
 * Reads corrected readings, rows in any order, and keeps what the exposures need. Every row is checked.
 *
 * @throws {Refusal} naming file, line and column: a cell that cannot be read, an empty temperature without a flag,
 * two different temperatures of a probe at one instant of a seating
 */
export async function readReadingsCsv(path: string, exposures: readonly Exposure[]): Promise<ReadingsFile> {
  const wanted = spansByProbe(exposures);
  const kept = new Map<string, ReadingRow[]>([...wanted.keys()].map((probe) => [probe, []]));
  const absent = new Set(wanted.keys());
  let flagged = 0;
  let implausible = 0;
  for await (const row of readCsv(path, COLUMNS)) {
    const probe = textIn(row, 'probe');
    const at = instantIn(row, 'time');
    const degrees = degreesIn(row);
    absent.delete(probe);
    if (row.get('flag') !== '' || degrees === null) flagged += 1;
    else if (!isPlausible(degrees)) implausible += 1;
    else if (covers(wanted.get(probe) ?? [], at))
      kept.get(probe)?.push({ at, celsius: degrees, line: row.line });
  }
  for (const [probe, rows] of kept) {
    rows.sort((a, b) => a.at - b.at || a.line - b.line);
    refuseConflict(path, probe, rows);
  }
  return {
    observationsOf: (probe) => kept.get(probe) ?? [],
    flagged,
    implausible,
    absentProbes: [...absent],
  };
}

type Span = { readonly from: UtcMs; readonly to: UtcMs };

/** For each probe when readings of it are wanted: its seatings, merged where they share an instant, in order. */
function spansByProbe(exposures: readonly Exposure[]): Map<string, Span[]> {
  const seatings = exposures.flatMap((exposure) => exposure.seatings).sort((a, b) => a.from - b.from);
  const spans = new Map<string, Span[]>();
  for (const { probe, from, to } of seatings) {
    const known = spans.get(probe) ?? [];
    const last = known.at(-1);
    if (last !== undefined && from <= last.to)
      known[known.length - 1] = { from: last.from, to: utcMs(Math.max(last.to, to)) };
    else known.push({ from, to });
    spans.set(probe, known);
  }
  return spans;
}

function covers(spans: readonly Span[], at: UtcMs): boolean {
  let low = 0;
  let high = spans.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((spans[middle] as Span).to < at) low = middle + 1;
    else high = middle;
  }
  const span = spans[low];
  return span !== undefined && span.from <= at;
}

/** The temperature of a row; null when it is empty and the row is flagged. */
function degreesIn(row: CsvRow): Celsius | null {
  const text = row.get('celsius');
  if (text === '' && row.get('flag') !== '') return null;
  if (text === '')
    throw row.refuse('celsius', 'the cell is empty; write the temperature or give the row a flag');
  const value = parseDecimal(text);
  if (value === null)
    throw row.refuse(
      'celsius',
      `${JSON.stringify(text)} is not a temperature; write degrees Celsius with a dot, such as 21.5`,
    );
  return celsius(value);
}

function refuseConflict(path: string, probe: string, sorted: readonly ReadingRow[]): void {
  for (const [index, row] of sorted.entries()) {
    const before = sorted[index - 1];
    if (before !== undefined && before.at === row.at && before.celsius !== row.celsius)
      throw new Refusal(
        `${path}, line ${row.line}, column celsius: probe ${probe} has another reading at ${formatInstant(row.at)} on line ${before.line}, ${before.celsius} and not ${row.celsius} °C; flag the wrong one`,
      );
  }
}
