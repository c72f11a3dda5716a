import { createHash } from 'node:crypto';
import { type ParquetColumn, parquetTable } from '../export/parquet.js';
import type { Row, Table } from './column.js';
import { usable } from './judging.js';
import { roundedCelsius, type Told } from './readings.js';
import { BOARD_PREFIX, READINGS, STORE_PREFIX } from './tables.js';

export const parquetOf = ({ name }: Table): string => `${name}.parquet`;

/** The SHA-256 of a Parquet file that is made, not kept. */
export function parquetHash<Each>(
  make: (put: (bytes: Uint8Array) => void) => ParquetFile<Each>,
): Pick<ParquetFile<Each>, 'add'> & { end(): string } {
  const hash = createHash('sha256');
  const { add, end } = make((bytes) => void hash.update(bytes));
  return {
    add,
    end: () => {
      end();
      return hash.digest('hex');
    },
  };
}

/** Takes rows one by one and hands on the bytes of a Parquet file. */
export interface ParquetFile<Each> {
  add(row: Each): void;
  end(): void;
}

/** Rows are handed on in lots, for each lot is a call. */
const LOT = 1000;

function fileOf<Each>(
  name: string,
  columns: readonly ParquetColumn<Each>[],
  put: (bytes: Uint8Array) => void,
): ParquetFile<Each> {
  const encoder = parquetTable(name, columns, {});
  let lot: Each[] = [];
  const hand = () => {
    put(encoder.add(lot));
    lot = [];
  };
  put(encoder.head());
  return {
    add(row) {
      lot.push(row);
      if (lot.length === LOT) hand();
    },
    end() {
      hand();
      put(encoder.end());
    },
  };
}

/** A table as Parquet: the columns of its CSV under the same names, texts as they are, times as timestamps. */
export const tableParquet = (table: Table, put: (bytes: Uint8Array) => void): ParquetFile<Row> =>
  fileOf(
    table.name,
    table.columns.map(({ name, kind, required, prefix = '' }) => ({
      name,
      kind,
      isRequired: required,
      of: (row) => {
        const value = row[name]!;
        return prefix === '' || value === null ? value : prefix + String(value);
      },
    })),
    put,
  );

const OF: Readonly<Record<string, ParquetColumn<Told>['of']>> = {
  probe: ({ told }) => told.reading.rom,
  time_utc: ({ at }) => at,
  celsius: ({ told, offset }) =>
    told.reading.raw === null ? null : roundedCelsius(told.reading.raw, offset),
  is_used: ({ told, offset }) => usable(told.reading.status, told.reading.raw, offset) !== null,
  raw_sixteenths: ({ told }) => told.reading.raw,
  status: ({ told }) => told.reading.status,
  store: ({ told }) => STORE_PREFIX + told.store,
  board: ({ told }) => BOARD_PREFIX + told.reading.board,
  boot: ({ told }) => told.reading.boot,
  scan: ({ told }) => told.reading.scan,
  slot_index: ({ told }) => told.reading.slotIndex,
  board_ms: ({ told }) => told.reading.boardMs,
  reading: ({ told }) => told.reading.id,
  sealed: ({ told }) => told.sealed,
};

export const readingsParquet = (put: (bytes: Uint8Array) => void): ParquetFile<Told> =>
  fileOf(
    READINGS.name,
    READINGS.columns.map(({ name, kind, required }) => ({ name, kind, isRequired: required, of: OF[name]! })),
    put,
  );
