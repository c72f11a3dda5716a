import { readFileSync, rmSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkBundle } from '../../src/bundle/check.js';
import { writeBundle } from '../../src/bundle/write.js';
import { openStoreToRead } from '../../src/store/store.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { checkTampered } from './checkTampered.js';
import { bundleOf, morningStore, writing } from './invented.js';
import {
  added,
  all,
  appended,
  cell,
  chainAnew,
  edited,
  fact,
  facts,
  lines,
  manifestAnew,
  removed,
  renamed,
  type Tampering,
} from './tamper.js';

let folder: string;
let whole: string;
let people: string;
let open: string;
allInNewFolder(async (fresh) => {
  folder = fresh;
  const store = morningStore(join(folder, 'season.sqlite'));
  whole = await bundleOf(store, join(folder, 'whole'));
  people = await bundleOf(store, join(folder, 'people'), { withPeople: true });
  open = await bundleOf(store, join(folder, 'open'), { isPublic: true });
  store.close();
});

const findingsIn = async (bundle: string, tampering: Tampering) =>
  (await checkTampered(bundle, tampering)).findings;

/** What is done to a bundle whose manifest stays as it was, and what is found. */
const PLAIN: readonly [string, Tampering, RegExp][] = [
  [
    'a count is changed',
    cell('counts', 2, 'tray', '9'),
    /^counts\.csv, line 2, column tray: is "9", and facts and readings give "8"/,
  ],
  [
    'a byte of the page for people is changed',
    edited('README.md', (text) => text.replace('Celsius', 'celsius')),
    /^README\.md: is not the file that the manifest names/,
  ],
  ['a line feed is added at the end', appended('rulings.csv', '\r\n'), /^rulings\.csv: is not the file/],
  [
    'a byte order mark is put before a table',
    edited('cups.csv', (text) => `\ufeff${text}`),
    /^cups\.csv, line 1: does not name the columns/,
  ],
  [
    'line ends are changed',
    edited('visits.csv', (text) => text.replaceAll('\r\n', '\n')),
    /^visits\.csv: is not the file/,
  ],
  ['a table is removed', removed('seatings.csv'), /^seatings\.csv: is missing/],
  ['the readings are removed', removed('readings.csv'), /^readings\.csv: is missing/],
  ['the rule sets are removed', removed('rules.json'), /^rules\.json: is missing/],
  ['the chain is removed', (at) => rmSync(join(at, 'facts'), { recursive: true }), /^facts\/.*: is missing/],
  ['the page for people is removed', removed('README.md'), /^README\.md: is missing/],
  ['the manifest is removed', removed('SHA256SUMS'), /^SHA256SUMS: is missing/],
  ['the descriptor is removed', removed('datapackage.json'), /^datapackage\.json: is missing/],
  [
    'a file is put in',
    added('more.csv', 'a\r\n1\r\n'),
    /^more\.csv: is not in the manifest: it was put in later/,
  ],
  ['a hidden file is put in', added('.note', 'x'), /^\.note: is not in the manifest/],
  [
    'a file is put beside the chain',
    added('facts/0000.jsonl', '{}\n'),
    /^facts\/0000\.jsonl: is not in the manifest/,
  ],
  [
    'a link is put in',
    (at) => symlinkSync('counts.csv', join(at, 'link.csv')),
    /^link\.csv: is neither a file nor a folder/,
  ],
  ['a table is renamed', renamed('probes.csv', 'probe.csv'), /^probes\.csv: is missing/],
  [
    'a line of the manifest is removed',
    edited('SHA256SUMS', (text) => text.replace(/.*counts\.csv\n/, '')),
    /^counts\.csv: is not in the manifest/,
  ],
  [
    'a hash in the manifest is changed',
    edited('SHA256SUMS', (text) => text.replace(/^./, (digit) => (digit === '0' ? '1' : '0'))),
    /is not the file that the manifest names/,
  ],
  [
    'the manifest is garbled',
    edited('SHA256SUMS', (text) => text.replace('  ', ' ')),
    /^SHA256SUMS, line 1: is no line of a manifest/,
  ],
  [
    'the descriptor is no JSON',
    edited('datapackage.json', (text) => text.slice(0, -3)),
    /^datapackage\.json: is no JSON/,
  ],
  [
    'a column is told otherwise',
    edited('datapackage.json', (text) => text.replace('"tray"', '"trays"')),
    /^datapackage\.json: gives counts\.csv another schema/,
  ],
  [
    'a size in the descriptor is changed',
    edited('datapackage.json', (text) => text.replace(/"bytes": \d+/, '"bytes": 7')),
    /has \d+ bytes, and datapackage\.json says 7/,
  ],
  [
    'a fact is changed',
    fact(/"cup-turned"/, /"at":"2026-05-12T15:05/, '"at":"2026-05-12T15:04'),
    /^facts\/.*, line \d+: the chain breaks here/,
  ],
  [
    'a fact in the middle is taken out',
    facts((each) => each.toSpliced(9, 1)),
    /^facts\/.*, line 10: has the number 11/,
  ],
  [
    'two facts change places',
    facts((each) => each.toSpliced(9, 2, each[10]!, each[9]!)),
    /^facts\/.*, line 10: has the number 11/,
  ],
  [
    'the last fact is cut off',
    facts((each) => each.slice(0, -1)),
    /^facts\/.*: has \d+ facts, and datapackage\.json says/,
  ],
  [
    'a fact is written with spaces',
    facts((each) => each.with(4, each[4]!.replace('{', '{ '))),
    /line 5: is not canonical JSON/,
  ],
  ['a line of the chain is no JSON', facts((each) => each.with(4, 'x')), /line 5: is no JSON/],
  [
    'a time has another zone',
    cell('exposures', 3, 'load_utc', '2026-05-12T14:06:00.000+02:00'),
    /^exposures\.csv, line 3, column load_utc: is .* not a time in UTC/,
  ],
];

/** The same with descriptor, manifest, head and number of facts made anew. */
const ANEW: readonly [string, Tampering, RegExp][] = [
  [
    'a count is changed',
    cell('counts', 2, 'tray', '9'),
    /^counts\.csv, line 2, column tray: is "9", and facts and readings give "8"/,
  ],
  [
    'an unread wash is made 0',
    cell('counts', 4, 'wash', '0'),
    /^counts\.csv, line 4, column wash: is "0", and facts and readings give empty/,
  ],
  [
    'a ruling is changed',
    cell('rulings', 3, 'ruling', 'valid'),
    /^rulings\.csv, line 3, column ruling: is "valid", and judging the readings again gives "cold"/,
  ],
  [
    'a figure of a ruling is changed',
    cell('rulings', 2, 'mean_celsius', '29.5'),
    /^rulings\.csv, line 2, column mean_celsius: is "29.5", and judging/,
  ],
  [
    'a sealed reading is changed',
    lines('readings', (each) => each.with(40, each[40]!.replace(/,[\d.]+,true,\d+,/, ',30.929,true,496,'))),
    /^readings\.csv: lines \d+ to \d+, the readings of probe .* are not the \d+ that fact \d+ of store .* sealed/,
  ],
  [
    'a sealed reading is taken out',
    lines('readings', (each) => each.toSpliced(60, 1)),
    /are not the \d+ that fact \d+/,
  ],
  [
    'a whole sealed hour is taken out',
    lines('readings', (each) =>
      each.filter((line) => !line.startsWith(`${each[1]!.slice(0, 23)},2026-05-12T13`)),
    ),
    /^readings\.csv: the \d+ readings of probe .* are missing that fact \d+ of store/,
  ],
  [
    'a sealed hour is said to be unsealed',
    lines('readings', (each) =>
      each.map((line) =>
        line.startsWith(`${each[1]!.slice(0, 23)},2026-05-12T13`) ? line.replace(/,0$/, ',') : line,
      ),
    ),
    /are missing that fact/,
  ],
  [
    'a temperature is not that of its raw value',
    cell('readings', 40, 'celsius', '39.5'),
    /^readings\.csv, line 40, column celsius: is "39\.5", and the rest of the row gives/,
  ],
  [
    'a reading is there twice',
    lines('readings', (each) => each.toSpliced(30, 0, each[30]!)),
    /^readings\.csv, line 32: stands before or beside the row above/,
  ],
  [
    'two readings change places',
    lines('readings', (each) => each.toSpliced(30, 2, each[31]!, each[30]!)),
    /^readings\.csv, line 32: stands before or beside/,
  ],
  [
    'a reading of another hour is put in',
    lines('readings', (each) => each.toSpliced(1, 0, each[1]!.replace('T12', 'T11').replace(/,0$/, ','))),
    /^readings\.csv, line 2: is of an hour that no exposure/,
  ],
  [
    'the threshold is lowered',
    edited('rules.json', (text) => text.replace('15.555555555555555', '10')),
    /^rules\.json: holds other rule sets/,
  ],
  [
    'a rule set is none',
    edited('rules.json', (text) => text.replace('"line": 0.7', '"line": 7')),
    /^rules\.json: holds no rule sets/,
  ],
  [
    'a cup is taken out of a table',
    lines('cups', (each) => each.toSpliced(2, 1)),
    /^cups\.csv: the row of cup a2 is missing/,
  ],
  [
    'a cup is put in',
    lines('counts', (each) => each.toSpliced(2, 0, each[2]!.replace('a2', 'a9'))),
    /^counts\.csv, line 3: does not belong here/,
  ],
  [
    'a row is there twice',
    lines('cups', (each) => each.toSpliced(2, 0, each[2]!)),
    /^cups\.csv, line 4: is there twice, the first time on line 3/,
  ],
  [
    'rows change places',
    lines('cups', (each) => each.toSpliced(1, 2, each[2]!, each[1]!)),
    /^cups\.csv, line 3: stands in another place/,
  ],
  [
    'an offset is changed',
    cell('calibrations', 2, 'offset_celsius', '0'),
    /^calibrations\.csv, line 2, column offset_celsius: is "0", and the facts say "0.071"/,
  ],
  [
    'an uncertainty is lowered',
    cell('seatings', 3, 'uncertainty_celsius', '0.1'),
    /^seatings\.csv, line 3, column uncertainty_celsius: is "0.1", and the facts say "0.858"/,
  ],
  [
    'an overrule is hidden',
    cell('cups', 3, 'overruled_to', ''),
    /^cups\.csv, line 3, column overruled_to: is empty, and the facts say "valid"/,
  ],
  [
    'a correction is taken out',
    lines('corrections', (each) => each.toSpliced(1, 1)),
    /^corrections\.csv: the row of store .* is missing/,
  ],
  [
    'a cell is text where a number is',
    cell('counts', 2, 'bees', 'many'),
    /^counts\.csv, line 2, column bees: is "many", which is not a whole number/,
  ],
  [
    'a formula loses its mark',
    cell('cups', 2, 'colony', '=1'),
    /^cups\.csv, line 2, column colony: begins as a formula would/,
  ],
  [
    'a row has a cell more',
    lines('cups', (each) => each.with(1, `${each[1]},x`)),
    /^cups\.csv, line 2: has 19 cells/,
  ],
  [
    'a fact is changed',
    fact(/"cup-counted".*"a2"|"a2".*"cup-counted"/, '"tray":8', '"tray":3'),
    /the chain breaks here/,
  ],
  [
    'a fact is changed and all hashes are made anew',
    all(fact(/"cup-counted".*"a2"|"a2".*"cup-counted"/, '"tray":8', '"tray":3'), chainAnew),
    /^counts\.csv, line 3, column tray: is "8", and facts and readings give "3"/,
  ],
  [
    'a sealing is changed and all hashes are made anew',
    all(fact(/hour-sealed/, /"hash":"[0-9a-f]{64}"/, `"hash":"${'0'.repeat(64)}"`), chainAnew),
    /are not the \d+ that fact/,
  ],
  [
    'a status is none',
    lines('readings', (each) => each.with(50, each[50]!.replace(',ok,', ',=ok,'))),
    /^readings\.csv, line 51/,
  ],
];

describe('checkBundle()', () => {
  it('finds nothing in bundles as they were written (negative control)', async () => {
    for (const bundle of [whole, people, open]) {
      const { findings, judged, readings, proven } = await checkBundle(bundle);
      expect(findings).toEqual([]);
      expect(judged).toBe(6);
      // A scan every half minute over 200 min, six probes; three of four hours are sealed, and none where no chain is.
      expect([readings, proven]).toEqual([2400, bundle === open ? 0 : 2154]);
    }
    expect(await findingsIn(whole, manifestAnew)).toEqual([]);
  });

  it.each(PLAIN)('finds that %s', async (_, tampering, expected) => {
    const found = await findingsIn(whole, tampering);
    expect(found.join('\n')).toMatch(new RegExp(expected.source, 'm'));
  });

  it.each(ANEW)('finds that %s, though the manifest was made anew', async (_, tampering, expected) => {
    const found = await findingsIn(whole, all(tampering, manifestAnew));
    expect(found.join('\n')).toMatch(new RegExp(expected.source, 'm'));
    expect(found.some((each) => each.includes('manifest'))).toBe(false);
  });

  it('finds that words of people were changed', async () => {
    const changed = all(
      edited('texts.csv', (text) => text.replace('lid came off', 'lid stayed on')),
      manifestAnew,
    );
    expect((await findingsIn(people, changed)).join('\n')).toMatch(
      /^texts\.csv, line \d+, column text: is not the text that its reference was made of\.$/m,
    );
  });

  it('judges a public bundle again', async () => {
    const found = await findingsIn(open, all(cell('rulings', 3, 'ruling', 'valid'), manifestAnew));
    expect(found).toEqual([
      'rulings.csv, line 3, column ruling: is "valid", and judging the readings again gives "cold".',
    ]);
    const stranger = await findingsIn(open, all(cell('counts', 3, 'cup', 'K9'), manifestAnew));
    expect(stranger.join('\n')).toMatch(
      /^counts\.csv, line 3, column cup: is K9, of which cups\.csv says nothing/m,
    );
  });

  it('cannot tell a cut tail from a bundle that was written earlier, but by its head, and says so', async () => {
    const store = openStoreToRead(join(folder, 'season.sqlite'));
    const cut = join(folder, 'cut');
    const chains = () => store.chains().map((chain) => ({ ...chain, links: chain.links.slice(0, -1) }));
    await writeBundle({ ...store, chains }, writing(cut));
    store.close();
    const { findings, about } = await checkBundle(cut);
    expect(findings).toEqual([]);
    const told = (await checkBundle(whole)).about!.chains[0]!;
    expect(about!.chains[0]).not.toMatchObject({ head: told.head });
    expect(about!.chains[0]!.facts).toBe(told.facts - 1);
    expect(readFileSync(join(cut, 'README.md'), 'utf8')).toContain('compare its head and number of facts');
  });

  it('refuses what is no bundle', async () => {
    await expect(checkBundle(join(folder, 'none'))).rejects.toThrow(/cannot be read/);
    await expect(checkBundle(folder)).rejects.toThrow(/is no bundle/);
    await expect(checkBundle(join(whole, 'counts.csv'))).rejects.toThrow(/is a file/);
    await expect(
      findingsIn(
        whole,
        edited('datapackage.json', (text) => text.replace('"format": 1,', '"format": 2,')),
      ),
    ).rejects.toThrow(/newer stillwarm/);
    expect(readFileSync(join(whole, 'datapackage.json'), 'utf8')).toContain('"format": 1,');
  });
});
