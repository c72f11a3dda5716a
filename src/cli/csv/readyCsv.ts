import { csvLine } from '../../bundle/column.js';
import type { ReadyCup } from '../../plan/planned.js';
import { SLOT_MAX } from '../../store/factFields.js';
import { neutralised } from '../../units/formula.js';
import { LABEL_RULE, parseCarrierId, parseCupLabel, parseVisitId, parseYardCode } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { inZone, knownZone } from '../../units/zone.js';
import { type CsvColumns, type CsvRow, readCsv } from './csv.js';
import { instantIn, textIn } from './csvCells.js';
import { nameIn, wholeOf } from './planCsv.js';

/** A plan that is ready: a row a cup, with label, slot and times. `plan day --out` writes it. */
export const READY_COLUMNS = {
  required: ['visit', 'yard', 'zone', 'cup', 'carrier', 'slot', 'kind', 'load', 'from', 'to', 'rules'],
  optional: ['colony', 'group', 'active', 'lot'],
  hint: 'such a file is made by plan day --out',
} as const satisfies CsvColumns;

const ORDER = [
  ...['visit', 'yard', 'zone', 'cup', 'carrier', 'slot', 'kind', 'colony', 'group', 'active', 'lot'],
  ...['load', 'from', 'to', 'rules'],
] as const;

/** Times in the yard's zone, with their offset. */
export function readyCsv(cups: readonly ReadyCup[]): string {
  const name = (text: string | null) => (text === null ? '' : neutralised(text));
  const row = (cup: ReadyCup): string[] => [
    ...[cup.visit, cup.yard, cup.zone, cup.cup, cup.carrier, String(cup.slot), cup.kind],
    ...[cup.colony, cup.group, cup.active, cup.lot].map(name),
    ...[cup.load, cup.from, cup.to].map((at) => inZone(at, cup.zone)),
    name(cup.rules),
  ];
  return [csvLine([...ORDER]), ...cups.map((cup) => csvLine(row(cup)))].join('');
}

/**
 * Reads a plan that is ready.
 *
 * @throws {Refusal} naming file, line, column and cure: also a label that stands on two rows
 */
export async function readReadyCsv(path: string): Promise<ReadyCup[]> {
  const cups: ReadyCup[] = [];
  const lines = new Map<string, number>();
  for await (const row of readCsv(path, READY_COLUMNS)) {
    const cup = cupIn(row);
    const earlier = lines.get(cup.cup);
    if (earlier !== undefined)
      throw row.refuse(
        'cup',
        `label ${cup.cup} already stands on line ${earlier}; a label is for one cup, for ever`,
      );
    refuseUnlikeVisit(row, cup, cups);
    refuseTakenSlot(row, cup, cups);
    lines.set(cup.cup, row.line);
    cups.push(cup);
  }
  if (cups.length === 0)
    throw new Refusal(`${path}: there is no cup in this plan; make it with plan day --out`);
  return cups;
}

/** A visit has one yard, one zone and one rule set. */
function refuseUnlikeVisit(row: CsvRow, cup: ReadyCup, before: readonly ReadyCup[]): void {
  const first = before.find(({ visit }) => visit === cup.visit);
  for (const column of ['yard', 'zone', 'rules'] as const)
    if (first !== undefined && first[column] !== cup[column])
      throw row.refuse(
        column,
        `${cup[column]} here, and ${first[column]} in the rows of visit ${cup.visit} above; write the same`,
      );
}

/** As planned, a slot holds one cup at a time: until the first may be turned. */
function refuseTakenSlot(row: CsvRow, cup: ReadyCup, before: readonly ReadyCup[]): void {
  const there = before.find(
    ({ carrier, slot, load, from }) =>
      carrier === cup.carrier && slot === cup.slot && load < cup.from && cup.load < from,
  );
  if (there !== undefined)
    throw row.refuse(
      'slot',
      `slot ${cup.carrier}:${cup.slot} holds cup ${there.cup} then, loaded at ${inZone(there.load, there.zone)}; give another slot`,
    );
}

function cupIn(row: CsvRow): ReadyCup {
  const named = <Id>(column: string, what: string, parse: (text: string) => Id | null): Id => {
    const text = textIn(row, column);
    const id = parse(text);
    if (id === null) throw row.refuse(column, `${JSON.stringify(text)} is no ${what}; use ${LABEL_RULE}`);
    return id;
  };
  const zone = knownZone(textIn(row, 'zone'));
  if (zone === null)
    throw row.refuse(
      'zone',
      `${JSON.stringify(row.get('zone'))} is not a time zone; write an IANA name such as Etc/UTC`,
    );
  const kind = row.get('kind');
  if (kind !== 'strip' && kind !== 'no-strip')
    throw row.refuse('kind', `${JSON.stringify(kind)} is not a kind of cup; give strip or no-strip`);
  const [load, from, to] = [instantIn(row, 'load'), instantIn(row, 'from'), instantIn(row, 'to')];
  if (!(load < from && from <= to))
    throw row.refuse(
      from <= to ? 'load' : 'to',
      'load, from and to do not follow each other; write them in order of time',
    );
  return {
    visit: named('visit', 'name of a visit', parseVisitId),
    yard: named('yard', 'yard code', parseYardCode),
    zone,
    cup: named('cup', 'cup label', parseCupLabel),
    carrier: named('carrier', 'carrier name', parseCarrierId),
    slot: wholeOf(row, 'slot', 1, SLOT_MAX),
    ...{ kind, load, from, to, rules: textIn(row, 'rules') },
    colony: nameIn(row, 'colony'),
    group: nameIn(row, 'group'),
    active: nameIn(row, 'active'),
    lot: nameIn(row, 'lot'),
  };
}
