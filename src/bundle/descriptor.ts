import { z } from 'zod';
import { canonicalJson } from '../store/chain.js';
import { sha256, storeId } from '../store/factFields.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import type { Column, Table } from './column.js';
import type { Written } from './fileOut.js';

/** Grows when a table, a column or a file changes; a bundle of an earlier one can be read for ever. */
export const FORMAT = 1;
export const DESCRIPTOR = 'datapackage.json';
export const MANIFEST = 'SHA256SUMS';
const PROFILE = 'https://datapackage.org/profiles/2.0/datapackage.json';

const aboutSchema = z.strictObject({
  format: z.int().min(1),
  /** The version of the program that wrote it. */
  writtenBy: z.string().regex(/^\d[\w.+-]{0,39}$/, 'is no version'),
  visits: z.array(z.string()).min(1),
  isPublic: z.boolean(),
  hasPeople: z.boolean(),
  /** The store it was written in, whose head its reports tell; null in a public bundle, which has none. */
  madeIn: storeId.nullable(),
  /** Number and hash of the last fact of each chain; in a public bundle to compare only. */
  chains: z.array(z.strictObject({ store: storeId, facts: z.int().min(1), head: sha256 })),
});
/** What a bundle says of itself, under `stillwarm` in its descriptor. */
export type About = z.infer<typeof aboutSchema>;

const resourceSchema = z.looseObject({
  name: z.string(),
  path: z.string(),
  bytes: z.int(),
  hash: z.string(),
  schema: z
    .looseObject({
      fields: z.array(z.looseObject({ name: z.string(), type: z.string() })),
      primaryKey: z.array(z.string()),
    })
    .optional(),
});
export const descriptorSchema = z.looseObject({
  name: z.string(),
  /** Left out of a public bundle, for it would tell how much earlier its dates were made. */
  created: z.iso.datetime({ precision: 3 }).optional(),
  resources: z.array(resourceSchema).min(1),
  stillwarm: aboutSchema,
});
export type Descriptor = z.infer<typeof descriptorSchema>;

const TYPES: Readonly<Record<Column['kind'], string>> = {
  text: 'string',
  id: 'string',
  integer: 'integer',
  number: 'number',
  instant: 'datetime',
  boolean: 'boolean',
};

/** A column as Table Schema tells it. */
export function fieldOf({ name, kind, what, required, oneOf, min }: Column): object {
  const constraints = {
    ...(required ? { required } : {}),
    ...(oneOf === undefined ? {} : { enum: oneOf }),
    ...(min === undefined ? {} : { minimum: min }),
  };
  return {
    name,
    type: TYPES[kind],
    description: what,
    ...(Object.keys(constraints).length === 0 ? {} : { constraints }),
  };
}

/** A table's schema as Table Schema tells it. */
export const schemaOf = ({ columns, key }: Table): object => ({
  fields: columns.map(fieldOf),
  primaryKey: key,
  missingValues: [''],
});

/** What a schema says, without the words of its columns, which another version may choose otherwise. */
export function shapeOf(schema: unknown): string {
  const { fields = [], ...rest } = (schema ?? {}) as { fields?: readonly Record<string, unknown>[] };
  return canonicalJson({ ...rest, fields: fields.map(({ description: _, ...field }) => field) });
}

/** What files other than tables are. */
const OTHER: readonly (readonly [RegExp, { format: string; mediatype: string; description: string }])[] = [
  [
    /^rules\.json$/,
    {
      format: 'json',
      mediatype: 'application/json',
      description: 'The rule sets that the visits are judged by.',
    },
  ],
  [
    /^reports\//,
    {
      format: 'html',
      mediatype: 'text/html',
      description: 'A report as it was made of the facts and readings here.',
    },
  ],
  [
    /\.parquet$/,
    {
      format: 'parquet',
      mediatype: 'application/vnd.apache.parquet',
      description: 'The table of the same name as Parquet, made of the CSV, which is what counts.',
    },
  ],
  [
    /^facts\//,
    {
      format: 'jsonl',
      mediatype: 'application/jsonl',
      description:
        'The chain of facts of one store: a line a fact, canonical JSON with its hash, SHA-256 over the hash before it, a line feed and the fact.',
    },
  ],
];

/**
 * The descriptor of a bundle (Data Package 2.0), as the text of its file.
 *
 * @param created null for a bundle that does not say when it was made
 */
export function descriptorText(
  about: About,
  created: UtcMs | null,
  files: readonly Written[],
  tables: readonly Table[],
): string {
  const resources = files.toSorted(byPath).flatMap(({ path, bytes, hash }): object[] => {
    const table = tables.find(({ name }) => path === `${name}.csv`);
    const isText = !path.endsWith('.parquet');
    const file = { path, bytes, hash: `sha256:${hash}`, ...(isText ? { encoding: 'utf-8' } : {}) };
    if (table !== undefined)
      return [
        {
          name: table.name,
          ...file,
          type: 'table',
          format: 'csv',
          mediatype: 'text/csv',
          description: table.what,
          schema: schemaOf(table),
        },
      ];
    const other = OTHER.find(([pattern]) => pattern.test(path));
    return other === undefined ? [] : [{ name: resourceName(path), ...file, ...other[1] }];
  });
  const descriptor = {
    $schema: PROFILE,
    name: `stillwarm-${about.isPublic ? 'public' : about.visits[0]!.toLowerCase()}`,
    title: `Assay cups of ${about.visits.length === 1 ? `visit ${about.visits[0]}` : `${about.visits.length} visits`}`,
    description:
      'Temperatures, exposures, counts and rulings of assay cups, to be checked and judged again; see README.md.',
    ...(created === null ? {} : { created: formatInstant(created) }),
    resources,
    stillwarm: about,
  };
  return `${JSON.stringify(descriptor, null, 2)}\n`;
}

export const byPath = (a: Written, b: Written): number => (a.path < b.path ? -1 : 1);

const resourceName = (path: string): string =>
  path
    .replace(/\.parquet$/, '-parquet')
    .replace(/\.(?:csv|json|jsonl|html)$/, '')
    .replaceAll('/', '-');

/** The manifest as `sha256sum -c` reads it. */
export const manifestText = (files: readonly Written[]): string =>
  files
    .toSorted(byPath)
    .map(({ path, hash }) => `${hash}  ${path}\n`)
    .join('');
