import { levelOfEntry } from '../../../shared/index.js';
import { csvLine } from '../../bundle/column.js';
import { neutralised } from '../../units/formula.js';
import type { SeasonResult, YardOfSeason } from '../../visit/seasonResult.js';

type Cell = string | number | null;
type Row = YardOfSeason & { readonly levelOfSeason: number };

/** The columns of a season as CSV; shares from 0 to 1, counts of strip cups. */
const COLUMNS: readonly (readonly [string, (row: Row) => Cell])[] = [
  ['yard', ({ entry }) => entry.yard],
  ['arm', ({ entry }) => (entry.arm === null ? null : neutralised(entry.arm))],
  ['visits', ({ visits }) => visits.join(' ')],
  ['verdict', ({ entry }) => entry.verdict],
  ['efficacy', ({ entry }) => entry.efficacy],
  ['efficacy_low', ({ entry }) => entry.interval?.[0] ?? null],
  ['efficacy_high', ({ entry }) => entry.interval?.[1] ?? null],
  [
    'efficacy_level',
    ({ entry, levelOfSeason }) =>
      entry.interval === null ? null : Number(levelOfEntry(entry, levelOfSeason).toFixed(6)),
  ],
  ['efficacy_all_read_cups', ({ entry }) => entry.allCups.efficacy],
  ['design_effect', ({ entry }) => entry.designEffect],
  ['effective_mites', ({ entry }) => entry.effectiveMites],
  ['tray_mites', ({ entry }) => entry.tray],
  ['wash_mites', ({ entry }) => entry.wash],
  ['mites_per_100_bees', ({ entry }) => entry.infestation.per100],
  ['loaded', ({ flow }) => flow.loaded],
  ['replaced', ({ flow }) => flow.replaced],
  ['cold', ({ flow }) => flow.ruledOut.cold],
  ['hot', ({ flow }) => flow.ruledOut.hot],
  ['short', ({ flow }) => flow.ruledOut.short],
  ['long', ({ flow }) => flow.ruledOut.long],
  ['unproven', ({ flow }) => flow.ruledOut.unproven],
  ['spoiled', ({ flow }) => flow.ruledOut.spoiled],
  ['unread', ({ flow }) => flow.unread],
  ['mite_free', ({ flow }) => flow.miteFree],
  ['used', ({ flow }) => flow.used],
];

export const seasonColumns: readonly string[] = COLUMNS.map(([name]) => name);

/** A season as CSV (RFC 4180), a row a yard and arm. */
export const seasonCsv = ({ yards, level }: SeasonResult): string =>
  [
    csvLine(seasonColumns),
    ...yards.map((yard) => {
      const row = { ...yard, levelOfSeason: level };
      return csvLine(COLUMNS.map(([, of]) => (of(row) === null ? '' : String(of(row)))));
    }),
  ].join('');
