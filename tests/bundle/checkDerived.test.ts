import { cpSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { installedVersion } from '../../src/units/installed.js';
import { utcMs } from '../../src/units/time.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { checkTampered } from './checkTampered.js';
import { bundleOf, cupOf, MORNING, morningStore } from './invented.js';
import {
  added,
  all,
  descriptor,
  edited,
  lines,
  manifestAnew,
  removed,
  renamed,
  type Tampering,
} from './tamper.js';

const LAB = 'reports/lab-alder-1.html';
const BEEKEEPER = 'reports/beekeeper.html';

let whole: string;
let people: string;
let columns: string;
let exposed: string;
allInNewFolder(async (folder) => {
  const store = morningStore(join(folder, 'season.sqlite'));
  // The one wash that is missing: until then the lab report tells no ruling.
  const at = utcMs(MORNING.opened + 5 * 3_600_000);
  store.append(at, { type: 'cup-counted', cup: cupOf(MORNING, 2), tray: null, wash: 3, bees: null, at });
  whole = await bundleOf(store, join(folder, 'whole'));
  columns = await bundleOf(store, join(folder, 'columns'), { asParquet: true });
  people = await bundleOf(store, join(folder, 'people'), { withPeople: true });
  store.append(utcMs(MORNING.opened + 1), {
    ...store.facts().find(({ fact }) => fact.type === 'cup-loaded')!.fact,
    cup: 'late',
  } as Parameters<typeof store.append>[1]);
  exposed = await bundleOf(store, join(folder, 'exposed'));
  store.close();
});

/** What is done by somebody who makes descriptor and manifest anew, and what is found. */
const ANEW: readonly [string, Tampering, RegExp][] = [
  [
    'a ruling is changed in the lab report',
    edited(LAB, (text) => text.replace('<b>cold</b>', '<b>valid</b>')),
    /^reports\/lab-alder-1\.html, line \d+: has ".*<b>valid.*" where ".*<b>cold.*" follows from what is here\.$/,
  ],
  [
    'a word is changed on the page of the beekeeper',
    edited(BEEKEEPER, (text) => text.replace('mites', 'fleas')),
    /^reports\/beekeeper\.html, line \d+: has ".*fleas/,
  ],
  [
    'a drawing is changed by a pixel',
    edited(LAB, (text) => text.replace(/(<path d="M\d+)\./, '$11.')),
    /^reports\/lab-alder-1\.html, line \d+: has/,
  ],
  [
    'a sentence is added at the end of a report',
    edited(LAB, (text) => `${text}<p>All is well.</p>\n`),
    /^reports\/lab-alder-1\.html, line \d+: .* follows from what is here|one line more/,
  ],
  [
    'the end of a report is cut off',
    edited(LAB, (text) => text.slice(0, text.lastIndexOf('\n', text.length - 2) + 1)),
    /^reports\/lab-alder-1\.html, line \d+: has "" where|more follows/,
  ],
  [
    'a report is put in',
    added('reports/evil.html', '<script>alert(1)</script>\n'),
    /^reports\/evil\.html: is no report of this bundle\.$/,
  ],
  ['the lab report is taken out', removed(LAB), /^reports\/lab-alder-1\.html: is missing/],
  ['the page of the beekeeper is taken out', removed(BEEKEEPER), /^reports\/beekeeper\.html: is missing/],
  [
    'the lab report is that of another visit',
    renamed(LAB, 'reports/lab-alder-2.html'),
    /^reports\/lab-alder-1\.html: is missing[\s\S]*^reports\/lab-alder-2\.html: is no report/,
  ],
  [
    'the page for people says Fahrenheit',
    edited('README.md', (text) => text.replace('degrees Celsius', 'degrees Fahrenheit')),
    /^README\.md, line \d+: has ".*Fahrenheit.*" where ".*Celsius/,
  ],
  [
    'a note is added to the page for people',
    edited('README.md', (text) => `${text}\nChecked by the ministry.\n`),
    /^README\.md, line \d+: has "Checked by the ministry|^README\.md, line \d+: is one line more/,
  ],
  [
    'the descriptor takes 0 for unknown',
    descriptor((json) => {
      json.resources.find(({ name }) => name === 'counts')!.schema!.missingValues = ['0', ''];
    }),
    /^datapackage\.json: gives counts\.csv another schema/,
  ],
  [
    'the descriptor has another lower limit',
    descriptor((json) => {
      const fields = json.resources.find(({ name }) => name === 'counts')!.schema!.fields;
      fields.find(({ name }) => name === 'tray')!.constraints = { minimum: 99 };
    }),
    /^datapackage\.json: gives counts\.csv another schema/,
  ],
  [
    'the descriptor has another unit in words',
    edited('datapackage.json', (text) => text.replace('sixteenths of a degree', 'eighths of a degree')),
    /^datapackage\.json: key resources\.\d+\.schema\.fields\.\d+\.description is "eighths/,
  ],
  [
    'the descriptor names another profile',
    edited('datapackage.json', (text) => text.replace('datapackage.org/', 'example.org/')),
    /^datapackage\.json: key \$schema is "https:\/\/example\.org/,
  ],
  [
    'the descriptor has a key more',
    descriptor((json) => {
      json['licenses'] = [];
    }),
    /^datapackage\.json: key licenses is \[\], and what is here gives nothing/,
  ],
  [
    'the bundle is said to be made at another time',
    descriptor((json) => {
      json.created = '1999-01-01T00:00:00.000Z';
    }),
    /^reports\/beekeeper\.html, line \d+: has ".*2026.*" where ".*1999/,
  ],
  [
    'the bundle is said to be made in another store',
    descriptor((json) => {
      json.stillwarm.madeIn = '0123456789abcdef';
    }),
    /^datapackage\.json: key stillwarm\.madeIn: is one of its stores/,
  ],
  [
    'a chain is named twice',
    descriptor((json) => {
      json.stillwarm.chains.push(json.stillwarm.chains[0]!);
    }),
    /^datapackage\.json: key stillwarm\.chains: names each store once/,
  ],
  [
    'a file is told of twice',
    descriptor((json) => {
      json.resources.push({ ...json.resources[0]!, name: 'again' });
    }),
    /^datapackage\.json: tells of \S+ twice/,
  ],
  [
    'a rule stands twice in a rule set',
    edited('rules.json', (text) => text.replace('"line": 0.7', '"line": 0.5, "line": 0.7')),
    /^rules\.json: is not written as bundles write it/,
  ],
  [
    'a note stands beside the rule sets',
    edited('rules.json', (text) => text.replace('{\n', '{\n  "note": "the line is 0.5",\n')),
    /^rules\.json: is not written as bundles write it/,
  ],
];

describe('checkDerived()', () => {
  it('finds nothing and notes nothing in bundles as they were written (negative control)', async () => {
    for (const bundle of [whole, people, columns])
      expect(await checkTampered(bundle, manifestAnew)).toEqual({ findings: [], notes: [] });
  });

  it.each(ANEW)('finds that %s, though the manifest was made anew', async (_, tampering, expected) => {
    const { findings } = await checkTampered(whole, all(tampering, manifestAnew));
    expect(findings.join('\n')).toMatch(new RegExp(expected.source, 'm'));
    expect(findings.some((each) => each.includes('manifest'))).toBe(false);
  });

  const flipped = (file: string): Tampering => {
    return (at) => {
      const bytes = readFileSync(join(at, file));
      bytes[40]! ^= 1;
      writeFileSync(join(at, file), bytes);
    };
  };
  const PARQUET: readonly [string, Tampering, RegExp][] = [
    ['counts are changed', flipped('counts.parquet'), /^counts\.parquet: is not the table of the same name/],
    [
      'readings are changed',
      flipped('readings.parquet'),
      /^readings\.parquet: is not the table of the same name/,
    ],
    [
      'one table is put in the place of another',
      (at) => cpSync(join(at, 'cups.parquet'), join(at, 'counts.parquet')),
      /^counts\.parquet: is not the table of the same name/,
    ],
    ['a table is left out', removed('cups.parquet'), /^cups\.parquet: is missing, and every bundle has it/],
    ['a table is put in', added('more.parquet', 'x'), /^more\.parquet: is no file of a bundle/],
    ['a chain is put in', added('facts/ffff.jsonl', '{}\n'), /^facts\/ffff\.jsonl: is no file of a bundle/],
  ];
  it.each(PARQUET)('finds that of the Parquet files or chains %s', async (_, tampering, expected) => {
    const { findings } = await checkTampered(columns, all(tampering, manifestAnew));
    expect(findings.join('\n')).toMatch(new RegExp(expected.source, 'm'));
    expect(findings.some((each) => each.includes('manifest'))).toBe(false);
  });

  it('finds a changed name in the lab report of a bundle with names', async () => {
    const tampering = edited(LAB, (text) => text.replace('Crew One', 'Crew Won'));
    const { findings } = await checkTampered(people, all(tampering, manifestAnew));
    expect(findings.join('\n')).toMatch(/^reports\/lab-alder-1\.html, line \d+: has ".*Crew Won/m);
  });

  it('makes pages of another version anew, and says which it cannot compare', async () => {
    const tampering = edited(BEEKEEPER, (text) => text.replace('mites', 'fleas'));
    const older = await checkTampered(whole, all(tampering, manifestAnew), '99.0.0');
    expect(older.findings).toEqual([]);
    expect(older.notes).toEqual([
      `reports/beekeeper.html was written by stillwarm ${installedVersion()}, and this is 99.0.0, which makes it otherwise: a change in it would not show if the manifest was made anew, too. Check with that version, or read it beside the tables.`,
    ]);
    // What this version would have made just so needs no word.
    expect(await checkTampered(whole, manifestAnew, '99.0.0')).toEqual({ findings: [], notes: [] });
  });

  it('makes the page of a visit anew, too, whose cups were still exposed: it tells no temperature', async () => {
    expect(await checkTampered(exposed, manifestAnew)).toEqual({ findings: [], notes: [] });
    expect(readFileSync(join(exposed, LAB), 'utf8')).not.toContain('<svg');
    // Negative control: the page of the same visit, all of whose cups are counted, has its traces.
    expect(readFileSync(join(whole, LAB), 'utf8')).toContain('<svg');
    for (const page of [LAB, BEEKEEPER]) {
      const tampering = edited(page, (text) => text.replace('bees', 'fleas'));
      const { findings } = await checkTampered(exposed, all(tampering, manifestAnew));
      expect(findings).toEqual([expect.stringMatching(`^${page}, line \\d+: has .*fleas`)]);
    }
  });

  it('takes no sentence for a version', async () => {
    const tampering = descriptor((json) => {
      json.stillwarm.writtenBy = '0.1.0: all is well';
    });
    expect((await checkTampered(whole, all(tampering, manifestAnew))).findings.join('\n')).toMatch(
      /^datapackage\.json: key stillwarm\.writtenBy: is no version\.$/m,
    );
  });

  it('makes no page anew of what does not hold, and says so', async () => {
    const tampering = lines('cups', (each) => each.toSpliced(2, 1));
    const { findings, notes } = await checkTampered(whole, all(tampering, removed(LAB), manifestAnew));
    expect(findings).toEqual([expect.stringMatching(/^cups\.csv: the row of cup a2 is missing/)]);
    expect(notes).toEqual([expect.stringMatching(/were not made anew, for something was found/)]);
  });

  it('is not fooled by a manifest that was left as it was', async () => {
    const { findings } = await checkTampered(whole, (at) =>
      writeFileSync(join(at, LAB), readFileSync(join(at, LAB), 'utf8').replace('a', 'b')),
    );
    expect(findings).toEqual([expect.stringMatching(/is not the file that the manifest names/)]);
  });
});
