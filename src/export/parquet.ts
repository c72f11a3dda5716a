import { ByteWriter, ParquetWriter, type SchemaElement } from 'hyparquet-writer';
import { COLUMNS, type Column, type Kind } from './columns.js';
import type { Encoder } from './encoder.js';
import { NOTHING } from './encoder.js';
import type { ExportRow } from './rows.js';

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

/** Rows as Parquet, compressed with Snappy, group by group. @param about what the file says of itself, as name and text */
export function parquetEncoder(about: Readonly<Record<string, string>>, groupRows = GROUP_ROWS): Encoder {
  const bytes = new ByteWriter();
  const parquet = new ParquetWriter({
    writer: bytes,
    schema: [{ name: 'readings', num_children: COLUMNS.length }, ...COLUMNS.map(schemaOf)],
    kvMetadata: Object.entries(about).map(([key, value]) => ({ key, value })),
    createdBy: 'stillwarm',
  });
  /** What was written since; the buffer is used again. */
  const taken = (): Uint8Array => {
    const written = bytes.getBytes().slice();
    bytes.index = 0;
    return written;
  };
  let waiting: ExportRow[] = [];
  const group = (): Uint8Array => {
    const rows = waiting;
    waiting = [];
    void parquet.write({
      columnData: COLUMNS.map(({ name, kind, of }) => ({
        name,
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

const schemaOf = ({ name, kind, isRequired }: Column): SchemaElement => ({
  name,
  repetition_type: isRequired ? 'REQUIRED' : 'OPTIONAL',
  ...TYPES[kind],
});

const bigOrNull = (value: number | null): bigint | null => (value === null ? null : BigInt(value));
