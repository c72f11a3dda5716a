import type { Table } from './column.js';
import { type About, byPath, MANIFEST } from './descriptor.js';
import type { Written } from './fileOut.js';

/** What a chain of hashes cannot show, wherever a bundle is checked or explained. */
export const CHAIN_LIMITS =
  'A chain shows that no fact inside it was changed, taken out or put in. It cannot show by itself that its last facts were cut off, or that all of it was written anew: compare its head and number of facts with those printed on the report or noted elsewhere at the time.';

/** The page of a bundle for people. */
export function readmeText(
  about: About,
  tables: readonly Table[],
  rows: ReadonlyMap<string, number>,
  files: readonly Written[],
): string {
  const others = files.filter(({ path }) => !path.endsWith('.csv')).toSorted(byPath);
  return `# Assay cups: ${about.visits.join(', ')}

This folder is a Data Package (datapackage.json describes every file and column). It holds what was measured, counted and
decided about assay cups, so that somebody else can check it and judge the cups again.

Temperatures are degrees Celsius, times UTC (RFC 3339); the names of columns say so. An empty cell means "not known", never 0.
CSV is RFC 4180 in UTF-8 with commas and decimal points. A text that a spreadsheet would take for a formula has one
apostrophe (') before it, and so has a text that begins with one; take the first apostrophe away to read it. Numbers never have one.

Names that people chose (yards, visits, cups, colonies, lots, carriers) stand as they chose them, and some look like numbers or dates: 1E3,
007, 1-2. Read every column as text first and make numbers of those that are: in R read.csv(FILE, colClasses = "character",
na.strings = ""), in pandas read_csv(FILE, dtype=str, keep_default_na=False). In a spreadsheet import the file and set these columns to
text in the import dialog; opened by a double click it changes such names. datapackage.json tells the type of every column.

| file | rows | what it is |
|---|---|---|
${tables.map(({ name, what }) => `| ${name}.csv | ${rows.get(name) ?? 0} | ${what} |`).join('\n')}
${others.map(({ path }) => `| ${path} | | ${othersSay(path)} |`).join('\n')}
| ${MANIFEST} | | the SHA-256 of every file but itself |

## To check it

    sha256sum -c ${MANIFEST}
    stillwarm bundle check .

The first finds changed bytes. The second also finds files and rows that do not belong here, follows the chains, and judges
every cup again from the readings by the rule sets in rules.json: the rulings must be equal.

${about.isPublic ? PUBLIC : chainsSay(about)}
## Before all is counted

Rulings are in rulings.csv and counts.csv: whoever still counts mites of these cups does not open them before, so that the count is blind.

## What it does not hold

${about.hasPeople ? 'Names and words of people are in texts.csv, by the references that facts carry, and in reports/lab-*.html. Do not publish it.' : 'Names and words of people were left out; facts carry references to them, from which nobody can find the words.'}

A cup is a test, not a treatment. Follow the product's label and local rules, and ask a licensed adviser before treating.
`;
}

const othersSay = (path: string): string =>
  path === 'rules.json'
    ? 'the rule sets; `rule_set` counts its entries from 1'
    : path.startsWith('facts/')
      ? 'the chain of facts of one store, a line a fact'
      : path.endsWith('.parquet')
        ? 'the table of the same name as Parquet'
        : path.startsWith('reports/')
          ? 'a report as it was handed out'
          : 'a file';

const chainsSay = ({ chains, madeIn }: About): string => `## Chains

The whole chain of each store is here, for its hashes cannot be followed otherwise: it also speaks, by their codes, of other
visits of that store.

${chains.map(({ store, facts, head }) => `- store ${store}: ${facts} facts, head ${head}${store === madeIn ? ' (this folder was written in it, and its head is on the reports)' : ''}`).join('\n')}

${CHAIN_LIMITS}
`;

const PUBLIC = `## This is a public bundle

What people named has new names, the same throughout this folder: visits (V1), yards (Y1), cups (K1), colonies (C1), mother lines
(M1), lots (L1), carriers (R1) and rule sets (S1). All times are earlier by one number of whole days, so that the first visit falls
on the first day of its month; times of day and times between things are as they were. Time zones, the words on pieces of strip, people's words
and references to them, and the time when this folder was made are left out. Names of actives stay as they were typed, and so do the ids of stores,
boards and probes: whoever knows another bundle of these, or holds a probe, sees that it is the same.

The facts are left out, too, for their hashes would show the old names and dates. What then can no longer be checked: that
exposures, counts and corrections are those that were recorded, and that readings are those that were sealed; whoever makes the manifest anew can
change them, and a public bundle proves nothing of counts. What still can: that no byte was changed since this manifest was made, that the rulings follow
from the readings, and that no name is left of what was to be renamed. Whoever has the store can
compare its chains with the heads in datapackage.json and write the full bundle.
`;
