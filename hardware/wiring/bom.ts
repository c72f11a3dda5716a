import { CsvError, parse } from 'csv-parse/sync';
import { z } from 'zod';
import { Refusal } from '../../src/units/refusal.js';
import type { Netlist } from './netlist.js';

const COLUMNS = ['refs', 'part', 'value', 'per_carrier', 'per_slot', 'what matters', 'price class'] as const;

const count = z.string().regex(/^\d+$/, 'must be a whole number').transform(Number);
const words = z.string().min(1, 'must not be empty');
const row = z.strictObject({
  refs: z
    .string()
    .regex(
      /^(?:-|P\*|[A-Z]{1,2}\d+(?: [A-Z]{1,2}\d+)*)$/,
      'must be refs of the netlist such as "R2 R3", or - for what has none',
    ),
  part: words,
  value: words,
  per_carrier: count,
  per_slot: count,
  'what matters': words,
  'price class': z.enum(['-', 'A', 'B', 'C', 'D'], 'must be A, B, C, D, or - for what is there already'),
});

/** One kind of part to buy; `refs` are those of the netlist, `P*` the probe of every slot, `-` none. */
export type BomRow = z.infer<typeof row> & { readonly line: number };

/**
 * Reads the list of parts.
 *
 * @throws {Refusal} naming file, line, column and cure
 */
export function readBom(text: string, file: string): BomRow[] {
  const rows = records(text, file);
  const [header, ...rest] = rows;
  if (header?.cells.join() !== COLUMNS.join())
    throw new Refusal(`${file}, line 1: the columns must be ${COLUMNS.join(',')}`);
  return rest.map(({ cells, line }) => {
    const result = row.safeParse(Object.fromEntries(COLUMNS.map((name, index) => [name, cells[index]])));
    if (result.success) return { ...result.data, line };
    const issue = result.error.issues[0]!;
    throw new Refusal(`${file}, line ${line}, column ${String(issue.path[0])}: ${issue.message}`);
  });
}

function records(text: string, file: string): { cells: string[]; line: number }[] {
  try {
    const found = parse(text, { info: true }) as unknown as { record: string[]; info: { lines: number } }[];
    return found.map(({ record, info }) => ({ cells: record, line: info.lines }));
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    throw new Refusal(`${file}: ${error.message}; put quotes around a cell that holds a comma`);
  }
}

/** How many a carrier of this many slots takes. */
export const quantity = (of: Pick<BomRow, 'per_carrier' | 'per_slot'>, slots: number): number =>
  of.per_carrier + of.per_slot * slots;

/** What differs between the list of parts and the netlist, one sentence each. */
export function checkBom(bom: readonly BomRow[], netlist: Netlist, file: string): string[] {
  const refsOf = ({ refs }: BomRow): string[] =>
    refs === '-' ? [] : refs.split(' ').flatMap((ref) => (ref === 'P*' ? probes : [ref]));
  const probes = netlist.parts.filter(({ kind }) => kind === 'probe').map(({ ref }) => ref);
  const listed = bom.flatMap(refsOf);
  const missing = netlist.parts
    .filter(({ ref }) => !listed.includes(ref))
    .map(({ ref, line }) => `${file}: ${ref} of ${netlist.file}, line ${line}, is missing; add a row for it`);
  const rows = bom.flatMap((each) => {
    const at = `${file}, line ${each.line}: `;
    const refs = refsOf(each);
    const strange = refs.filter((ref) => netlist.parts.every((part) => part.ref !== ref));
    const twice = refs.filter((ref) => listed.indexOf(ref) !== listed.lastIndexOf(ref));
    const others = netlist.parts.filter(({ ref, value }) => refs.includes(ref) && value !== each.value);
    const bought = quantity(each, netlist.slots);
    return [
      ...strange.map((ref) => `${at}the netlist has no ${ref}; mend the ref`),
      ...twice.map((ref) => `${at}${ref} is listed twice; leave it in one row`),
      ...others.map(
        ({ ref, value }) =>
          `${at}${ref} is "${value}" in the netlist and "${each.value}" here; make them equal`,
      ),
      ...(refs.length > 0 && bought !== refs.length
        ? [
            `${at}${bought} for ${netlist.slots} slots, and the netlist has ${refs.length}; mend per_carrier or per_slot`,
          ]
        : []),
    ];
  });
  return [...missing, ...rows];
}
