import { z } from 'zod';
import { Refusal } from '../../src/units/refusal.js';

/** A hole of the perforated board: row 0 is A, column 0 is 1. */
export interface Hole {
  readonly row: number;
  readonly column: number;
}

/** A pin of a part in its hole; `pin` is null for one that nothing is joined to. */
export interface PlacedPin {
  readonly ref: string;
  readonly pin: string | null;
  readonly hole: Hole;
}

export interface PlacedPart {
  readonly ref: string;
  /** Row after row as written, each from the left. */
  readonly rows: readonly (readonly PlacedPin[])[];
  readonly line: number;
}

/** A wire below the board. A bare one runs along rows and columns and touches all that it passes. */
export interface Run {
  readonly net: string;
  readonly isBare: boolean;
  readonly holes: readonly Hole[];
  readonly line: number;
}

export interface Placement {
  readonly file: string;
  readonly rows: number;
  readonly columns: number;
  readonly parts: readonly PlacedPart[];
  readonly runs: readonly Run[];
}

export const PITCH_MM = 2.54;

/** `B12` for row 1, column 11. */
export const holeName = ({ row, column }: Hole): string => `${String.fromCharCode(65 + row)}${column + 1}`;
export const pinsOf = ({ rows }: PlacedPart): PlacedPin[] => rows.flat();
/** `R1.2`, or null for a pin that nothing is joined to. */
export const endOf = ({ ref, pin }: PlacedPin): string | null => (pin === null ? null : `${ref}.${pin}`);

const hole = z
  .string()
  .regex(/^[A-Z](?:[1-9]|[1-9]\d)$/, 'a hole is a row and a column such as B12')
  .transform((text): Hole => ({ row: text.charCodeAt(0) - 65, column: Number(text.slice(1)) - 1 }));
const boardLine = z
  .string()
  .regex(/^A1:[A-Z][1-9]\d?$/, 'the board is written "board A1:R24"')
  .transform((text) => hole.parse(text.slice(3)));
const rowOfPins = z
  .string()
  .regex(/^[A-Z]\d+(?:\/[1-9])?:(?: [\w+.-]+)+$/, 'pins are written "HOLE: PIN PIN ...", such as "E3: 1"');

/**
 * Reads a placement (its format stands at the head of `perfboard.placement`).
 *
 * @param file its name for messages
 * @throws {Refusal} naming file, line and cure for whatever is not of the format
 */
export function readPlacement(text: string, file: string): Placement {
  let board: Hole | null = null;
  const parts: PlacedPart[] = [];
  const runs: Run[] = [];
  for (const [index, row] of text.split('\n').entries()) {
    const line = index + 1;
    const words = row.replace(/#.*$/, '').trim();
    if (words === '') continue;
    const refuse = (problem: string): never => {
      throw new Refusal(`${file}, line ${line}: ${problem}`);
    };
    const take = <T>(schema: z.ZodType<T, string>, value: string): T => {
      const result = schema.safeParse(value);
      return result.success ? result.data : refuse(result.error.issues[0]?.message ?? 'not understood');
    };
    const [, kind, name = '', rest = ''] = /^(\w+)\s+([^|]*?)\s*(?:\|\s*(.*))?$/.exec(words) ?? [];
    if (kind === 'board') {
      board = take(boardLine, name);
    } else if (kind === 'place') {
      const rows = rest.split(';').map((cell) => placedRow(name, take(rowOfPins, cell.trim()), take));
      parts.push({ ref: name, rows, line });
    } else if (kind === 'bare' || kind === 'lead') {
      const holes = rest.split(/\s+/).map((each) => take(hole, each));
      if (holes.length < 2 || (kind === 'lead' && holes.length > 2))
        refuse(kind === 'lead' ? 'a lead joins two holes' : 'a bare wire passes two holes or more');
      runs.push({ net: name, isBare: kind === 'bare', holes, line });
    } else {
      refuse(`"${words.split(/\s+/)[0]}" is not known; a line begins with board, place, bare, lead or #`);
    }
  }
  if (!board) throw new Refusal(`${file}, line 1: the line "board A1:R24" is missing`);
  return { file, rows: board.row + 1, columns: board.column + 1, parts, runs };
}

function placedRow(
  ref: string,
  words: string,
  take: (schema: typeof hole, value: string) => Hole,
): PlacedPin[] {
  const [start = '', pins = ''] = words.split(':');
  const [first = '', step = '1'] = start.split('/');
  const { row, column } = take(hole, first);
  return pins
    .trim()
    .split(/\s+/)
    .map((pin, index) => ({
      ref,
      pin: pin === '.' ? null : pin,
      hole: { row, column: column + index * Number(step) },
    }));
}

/** All holes that a wire touches: those it passes if it is bare, else those at its ends. */
export function touched({ isBare, holes }: Pick<Run, 'isBare' | 'holes'>): Hole[] {
  if (!isBare) return [...holes];
  return holes.flatMap((from, index) => {
    const to = holes[index + 1];
    if (!to) return [from];
    const steps = Math.max(Math.abs(to.row - from.row), Math.abs(to.column - from.column));
    return Array.from({ length: steps }, (_, step) => ({
      row: from.row + ((to.row - from.row) / steps) * step,
      column: from.column + ((to.column - from.column) / steps) * step,
    }));
  });
}
