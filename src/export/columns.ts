import { carrierAndStore } from '../store/chains.js';
import type { ExportRow } from './rows.js';

/** What a cell holds; `instant` is milliseconds since 1970 in UTC, `text` may be anybody's words, `id` only begins with a letter or digit. */
export type Kind = 'text' | 'id' | 'instant' | 'integer' | 'number' | 'boolean';
export type Cell = string | number | boolean | null;

export interface Column {
  readonly name: string;
  readonly kind: Kind;
  /** Whether every row has it. */
  readonly isRequired: boolean;
  readonly of: (row: ExportRow) => Cell;
}

/** Celsius to this many decimals is finer than any sensor, and exact for a raw value. */
const PER_CELSIUS = 10_000;

const must = (name: string, kind: Kind, of: Column['of']): Column => ({ name, kind, isRequired: true, of });
const may = (name: string, kind: Kind, of: Column['of']): Column => ({ name, kind, isRequired: false, of });

const rounded = (celsius: number): number => {
  const value = Math.round(celsius * PER_CELSIUS) / PER_CELSIUS;
  // No cell says -0.
  return value === 0 ? 0 : value;
};

/** The columns of an exported series, in order. */
export const COLUMNS: readonly Column[] = [
  must('probe', 'id', ({ reading }) => reading.rom),
  must('time_utc', 'instant', ({ reading }) => reading.utc),
  may('time_within_ms', 'integer', ({ within }) => within),
  may('celsius', 'number', ({ celsius }) => (celsius === null ? null : rounded(celsius))),
  must('is_used', 'boolean', ({ isUsed }) => isUsed),
  may('raw_sixteenths', 'integer', ({ reading }) => reading.raw),
  may('offset_celsius', 'number', ({ offset }) => offset),
  must('status', 'text', ({ reading }) => reading.status),
  may('gap_s', 'number', ({ gapSeconds }) => gapSeconds),
  may('carrier', 'id', ({ place }) => (place === null ? null : carrierAndStore(place.carrier).carrier)),
  may('slot', 'integer', ({ place }) => place?.slot ?? null),
  must('store', 'id', ({ store }) => store),
  must('board', 'id', ({ reading }) => reading.board),
  must('boot', 'integer', ({ reading }) => reading.boot),
  must('scan', 'integer', ({ reading }) => reading.scan),
  must('slot_index', 'integer', ({ reading }) => reading.slotIndex),
  must('board_ms', 'integer', ({ reading }) => reading.boardMs),
  must('reading', 'integer', ({ reading }) => reading.id),
];
