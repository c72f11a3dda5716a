import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { allInNewFolder } from '../tools/newFolder.js';
import { checkTampered } from './checkTampered.js';
import { bundleOf, MORNING, morningStore } from './invented.js';
import { all, chainOf, edited, lines, manifestAnew, type Tampering } from './tamper.js';

let folder: string;
let whole: string;
allInNewFolder(async (fresh) => {
  folder = fresh;
  const store = morningStore(join(folder, 'season.sqlite'), { ...MORNING, periodMs: 60_000 });
  whole = await bundleOf(store, join(folder, 'whole'));
  store.close();
});

const findingsIn = async (tampering: Tampering) =>
  (await checkTampered(whole, all(tampering, manifestAnew))).findings;

/** What says the same in another form, and would let two bundles of one content differ. */
const ANEW: readonly [string, Tampering, RegExp][] = [
  [
    'a cell has quotes that it does not need',
    edited('counts.csv', (text) => text.replace(',300,', ',"300",')),
    /^counts\.csv, line 2: is not written as bundles write it/,
  ],
  [
    'the lines of a table end in a line feed',
    edited('cups.csv', (text) => text.replaceAll('\r\n', '\n')),
    /^cups\.csv, line 1: is not written as bundles write it/,
  ],
  [
    'the last line of a table does not end',
    edited('visits.csv', (text) => text.slice(0, -2)),
    /^visits\.csv, line 2: is not written as bundles write it/,
  ],
  [
    'a blank line is in a table',
    lines('counts', (each) => each.toSpliced(2, 0, '')),
    /^counts\.csv, line 3: is not written|^counts\.csv, line 3: has 1 cells/,
  ],
  [
    'the last line of the readings does not end',
    edited('readings.csv', (text) => text.slice(0, -2)),
    /^readings\.csv, line 1201: does not end in CR LF/,
  ],
  [
    'the chain ends without a line feed',
    (at) => edited(chainOf(at), (text) => text.trimEnd())(at),
    /^facts\/.*, line \d+: does not end in a line feed/,
  ],
  [
    'an empty folder is put in',
    (at) => mkdirSync(join(at, 'notes')),
    /^notes: is a folder that no bundle has/,
  ],
];

describe('checkBundle(), of the form of files', () => {
  it('finds nothing in a bundle as it was written (negative control)', async () => {
    expect(await findingsIn(() => {})).toEqual([]);
  });

  it.each(ANEW)('finds that %s, though the manifest was made anew', async (_, tampering, expected) => {
    expect((await findingsIn(tampering)).join('\n')).toMatch(new RegExp(expected.source, 'm'));
  });
});
