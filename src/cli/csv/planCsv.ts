import type { PlannedCup } from '../../plan/day.js';
import { plainText } from '../../units/formula.js';
import { LABEL_RULE, parseVisitId, parseYardCode, type VisitId, type YardCode } from '../../units/ids.js';
import { isTime } from '../../visit/when.js';
import { type CsvColumns, type CsvRow, readCsv } from './csv.js';
import { optionalNameIn, textIn } from './csvCells.js';

/** A plan as people write it: a row for the cups of a colony, or for all of a yard. */
export const PLAN_COLUMNS = {
  required: ['yard', 'cups'],
  optional: ['colony', 'group', 'kind', 'active', 'lot', 'visit', 'arrive', 'drive'],
  hint: 'what plan day --out wrote is for plan sheet, plan labels and --plan',
} as const satisfies CsvColumns;

/** A yard as it was written down; null is not told. */
export interface WrittenYard {
  readonly yard: YardCode;
  readonly visit: VisitId | null;
  readonly cups: readonly PlannedCup[];
  /** `HH:MM` or RFC 3339. */
  readonly arrive: string | null;
  readonly driveMinutes: number | null;
}

export const CUPS_A_YARD_MAX = 100;
export const YARDS_MAX = 40;
export const MINUTES_MAX = 24 * 60;

interface YardRows {
  readonly first: CsvRow;
  readonly yard: YardCode;
  readonly cups: PlannedCup[];
  readonly said: Map<string, string>;
}

/**
 * Reads a plan. Rows of a yard stand together; what is said of the whole yard (visit, arrive, drive) may stand on any of them.
 * Cups without strip are taken first.
 *
 * @throws {Refusal} naming file, line, column and cure
 */
export async function readPlanCsv(path: string): Promise<WrittenYard[]> {
  const yards: YardRows[] = [];
  for await (const row of readCsv(path, PLAN_COLUMNS)) addRow(yards, row);
  return yards.map(({ yard, cups, said }): WrittenYard => {
    const drive = said.get('drive');
    return {
      yard,
      visit: (said.get('visit') as VisitId | undefined) ?? null,
      cups: [
        ...cups.filter(({ kind }) => kind === 'no-strip'),
        ...cups.filter(({ kind }) => kind === 'strip'),
      ],
      arrive: said.get('arrive') ?? null,
      driveMinutes: drive === undefined ? null : Number(drive),
    };
  });
}

function addRow(yards: YardRows[], row: CsvRow): void {
  const code = parseYardCode(textIn(row, 'yard'));
  if (code === null)
    throw row.refuse('yard', `${JSON.stringify(row.get('yard'))} is no yard code; use ${LABEL_RULE}`);
  const known = yards.find(({ yard }) => yard === code);
  if (known !== undefined && known !== yards.at(-1))
    throw row.refuse(
      'yard',
      `yard ${code} began on line ${known.first.line}, and another stands between; put its rows together`,
    );
  const here = known ?? { first: row, yard: code, cups: [], said: new Map<string, string>() };
  if (known === undefined) yards.push(here);
  if (yards.length > YARDS_MAX)
    throw row.refuse('yard', `this is yard ${yards.length}; a day has at most ${YARDS_MAX}`);
  const cup: PlannedCup = {
    kind: kindIn(row),
    colony: nameIn(row, 'colony'),
    group: nameIn(row, 'group'),
    active: nameIn(row, 'active'),
    lot: nameIn(row, 'lot'),
  };
  here.cups.push(...Array.from({ length: wholeOf(row, 'cups', 1, CUPS_A_YARD_MAX) }, () => cup));
  if (here.cups.length > CUPS_A_YARD_MAX)
    throw row.refuse(
      'cups',
      `yard ${code} comes to ${here.cups.length} cups; at most ${CUPS_A_YARD_MAX} are planned for one`,
    );
  for (const column of ['visit', 'arrive', 'drive'] as const) say(here, row, column);
  const other = yards.find((each) => each !== here && each.said.get('visit') === here.said.get('visit'));
  if (other !== undefined && here.said.has('visit'))
    throw row.refuse(
      'visit',
      `visit ${here.said.get('visit')} is that of yard ${other.yard}; a visit is to one yard, so name another`,
    );
}

function say({ said, yard }: YardRows, row: CsvRow, column: 'visit' | 'arrive' | 'drive'): void {
  const text = row.get(column);
  if (text === '') return;
  if (column === 'visit' && parseVisitId(text) === null)
    throw row.refuse(column, `${JSON.stringify(text)} is no name of a visit; use ${LABEL_RULE}`);
  if (column === 'arrive' && !isTime(text))
    throw row.refuse(column, `${JSON.stringify(text)} is not a time; write HH:MM, as 09:30`);
  if (column === 'drive') wholeOf(row, column, 0, MINUTES_MAX);
  const before = said.get(column);
  if (before !== undefined && before !== text)
    throw row.refuse(column, `yard ${yard} already has ${before} here; write it on one row of the yard only`);
  said.set(column, text);
}

function kindIn(row: CsvRow): PlannedCup['kind'] {
  const text = row.get('kind');
  if (text === '' || text === 'strip') return 'strip';
  if (text === 'no-strip') return text;
  throw row.refuse(
    'kind',
    `${JSON.stringify(text)} is not a kind of cup; give strip or no-strip, or nothing for strip`,
  );
}

/** A name that may be left out; a mark that keeps spreadsheets from taking it for a formula is taken off. */
export function nameIn(row: CsvRow, column: string): string | null {
  const name = optionalNameIn(row, column);
  return name === null ? null : plainText(name);
}

/** A whole number of a cell. */
export function wholeOf(row: CsvRow, column: string, least: number, most: number): number {
  const text = row.get(column);
  if (!/^\d{1,6}$/.test(text) || Number(text) < least || Number(text) > most)
    throw row.refuse(
      column,
      `${JSON.stringify(text)} will not do; give a whole number from ${least} to ${most}`,
    );
  return Number(text);
}
