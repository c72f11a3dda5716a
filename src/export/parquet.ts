import { ByteWriter, ParquetWriter, type SchemaElement } from 'hyparquet-writer';
import { type Cell, COLUMNS, type Kind } from './columns.js';
import type { Encoder } from './encoder.js';
import { NOTHING } from './encoder.js';

/** Rows of one group: what is held in memory, and what a reader may skip at once. */
const GROUP_ROWS = 50_000;

const TYPES: Readonly<Record<Kind, Pick<SchemaElement, 'type' | 'converted_type' | 'logical_type'>>> = {
  text: { type: 'BYTE_ARRAY', converted_type: 'UTF8' },
  id: { type: 'BYTE_ARRAY', converted_type: 'UTF8' },
  instant: {
    type: 'INT64',
    logical_type: { type: 'TIMESTAMP', isAdjustedToUTC: true, unit: 'MILLIS' },
  },
  integer: { type: 'INT64' },
  number: { type: 'DOUBLE' },
  boolean: { type: 'BOOLEAN' },
};

/** A column of a Parquet file, and what it holds of a row. */
export interface ParquetColumn<Row> {
  readonly name: string;
  readonly kind: Kind;
  readonly isRequired: boolean;
  readonly of: (row: Row) => Cell;
}

/** An exported series as Parquet. @param about what the file says of itself, as name and text */
export const parquetEncoder = (about: Readonly<Record<string, string>>, groupRows = GROUP_ROWS): Encoder =>
  parquetTable('readings', COLUMNS, about, groupRows);

/** Rows as Parquet, compressed with Snappy, group by group. */
export function parquetTable<Row>(
  name: string,
  columns: readonly ParquetColumn<Row>[],
  about: Readonly<Record<string, string>>,
  groupRows = GROUP_ROWS,
): Encoder<Row> {
  const bytes = new ByteWriter();
  const parquet = new ParquetWriter({
    writer: bytes,
    schema: [{ name, num_children: columns.length }, ...columns.map(schemaOf)],
    kvMetadata: Object.entries(about).map(([key, value]) => ({ key, value })),
    createdBy: 'stillwarm',
  });
  /** What was written since; the buffer is used again. */
  const taken = (): Uint8Array => {
    const written = bytes.getBytes().slice();
    bytes.index = 0;
    return written;
  };
  let waiting: Row[] = [];
  const group = (): Uint8Array => {
    const rows = waiting;
    waiting = [];
    void parquet.write({
      columnData: columns.map(({ name: column, kind, of }) => ({
        name: column,
        data: kind === 'integer' ? rows.map((row) => bigOrNull(of(row) as number | null)) : rows.map(of),
      })),
      rowGroupSize: rows.length,
    });
    return taken();
  };
  return {
    head: taken,
    add(rows) {
      waiting.push(...rows);
      return waiting.length >= groupRows ? group() : NOTHING;
    },
    end() {
      const rest = waiting.length > 0 ? group() : NOTHING;
      void parquet.finish();
      return Buffer.concat([rest, taken()]);
    },
  };
}

const schemaOf = ({
  name,
  kind,
  isRequired,
}: Pick<ParquetColumn<never>, 'name' | 'kind' | 'isRequired'>): SchemaElement => ({
  name,
  repetition_type: isRequired ? 'REQUIRED' : 'OPTIONAL',
  ...TYPES[kind],
});

const bigOrNull = (value: number | null): bigint | null => (value === null ? null : BigInt(value));
