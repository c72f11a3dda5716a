import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { allInNewFolder } from '../tools/newFolder.js';
import { checkTampered } from './checkTampered.js';
import { bundleOf, morningStore } from './invented.js';
import { added, all, cell, descriptor, edited, lines, manifestAnew, type Tampering } from './tamper.js';

let whole: string;
let open: string;
allInNewFolder(async (folder) => {
  const store = morningStore(join(folder, 'season.sqlite'));
  whole = await bundleOf(store, join(folder, 'whole'));
  open = await bundleOf(store, join(folder, 'open'), { isPublic: true });
  store.close();
});

const findingsIn = async (bundle: string, tampering: Tampering) =>
  (await checkTampered(bundle, all(tampering, manifestAnew))).findings;

/** Takes out of a full bundle what a public one has not, and says that it is one. */
const passedOff: Tampering = all(
  (at) => rmSync(join(at, 'facts'), { recursive: true }),
  (at) => rmSync(join(at, 'reports'), { recursive: true }),
  descriptor((json) => {
    json.stillwarm.isPublic = true;
    json.stillwarm.madeIn = null;
    delete json.created;
  }),
);

const ANEW: readonly [string, Tampering, RegExp][] = [
  [
    'a yard has its own name',
    all(
      edited('visits.csv', (text) => text.replace('Y1', 'alder-07')),
      edited('cups.csv', (text) => text.replaceAll('Y1', 'alder-07')),
      edited('counts.csv', (text) => text.replaceAll('Y1', 'alder-07')),
    ),
    /^visits\.csv, line 2, column yard: is "alder-07", and in a public bundle it is one of Y1 to Y1/,
  ],
  [
    'a zone was put in',
    cell('visits', 2, 'zone', 'Etc/UTC'),
    /^visits\.csv, line 2, column zone: is "Etc\/UTC", and in a public bundle it is empty/,
  ],
  [
    'a lot has its own name',
    cell('visits', 2, 'lot', 'batch 7'),
    /^visits\.csv, line 2, column lot: is "batch 7"/,
  ],
  [
    'a piece was put in',
    cell('visits', 2, 'piece', 'square'),
    /^visits\.csv, line 2, column piece: is "square"/,
  ],
  [
    'the dates are the true ones',
    edited('visits.csv', (text) => text.replace('2026-05-01', '2026-05-12')),
    /^visits\.csv, line 2, column opened_utc: .* on the first day of its month/,
  ],
  [
    'a colony has its own name',
    all(cell('cups', 2, 'colony', 'seven'), cell('counts', 2, 'colony', 'seven')),
    /^cups\.csv, line 2, column colony: is "seven", and in a public bundle it is a new name/,
  ],
  [
    'a mother line has its own name',
    cell('cups', 2, 'mother_line', 'north'),
    /^cups\.csv, line 2, column mother_line: is "north"/,
  ],
  [
    'a cup is replaced by one with its own label',
    cell('cups', 6, 'replaced_by', 'a6'),
    /^cups\.csv, line 6, column replaced_by: is "a6"/,
  ],
  [
    'a cup has a number that none was given',
    all(
      ...['cups', 'counts', 'exposures', 'seatings', 'rulings'].map((table) =>
        edited(`${table}.csv`, (text) => text.replaceAll('K2,', 'K77,')),
      ),
    ),
    /^cups\.csv, line 3, column cup: is "K77", and in a public bundle it is one of K1 to K6/,
  ],
  [
    'an arm has its own name',
    edited('cups.csv', (text) => text.replace('lot L1', 'lot batch 7')),
    /^cups\.csv, line 2, column arm: is "amitraz strip, lot batch 7", and in a public bundle it is amitraz strip, lot L1/,
  ],
  [
    'counts are of another colony than cups',
    cell('counts', 3, 'colony', 'C9'),
    /^counts\.csv, line 3, column colony: is "C9", and in a public bundle it is that of cups\.csv/,
  ],
  [
    'a carrier has its own name',
    edited('seatings.csv', (text) => text.replaceAll(',R1,', ',red-truck,')),
    /^seatings\.csv, line 2, column carrier: is "red-truck"/,
  ],
  [
    'a correction refers to a person',
    cell('corrections', 2, 'who_ref', '0'.repeat(64)),
    /^corrections\.csv, line 2, column who_ref: is "0+", and in a public bundle it is empty/,
  ],
  [
    'the rule set has its own name',
    edited('rules.json', (text) => text.replace('"S1"', '"marsh-lab"')),
    /^rules\.json: names a rule set "marsh-lab"/,
  ],
  ['a report was put in', added('page.html', '<p>alder-07</p>'), /^page\.html: is no file of a bundle/],
  [
    'the descriptor says when it was made',
    descriptor((json) => {
      json.created = '2026-05-12T22:00:00.000Z';
    }),
    /^datapackage\.json: key created: is there unless the bundle is public/,
  ],
  [
    'a visit is called otherwise in the descriptor',
    descriptor((json) => {
      json.stillwarm.visits = ['alder-1'];
    }),
    /^datapackage\.json: key stillwarm\.visits: names other visits/,
  ],
  [
    'its page for people tells of a chain',
    edited('README.md', (text) => `${text}\n- store 0123456789abcdef: 90 facts\n`),
    /^README\.md, line \d+/,
  ],
  [
    'a row of counts is left out',
    lines('counts', (each) => each.toSpliced(2, 1)),
    /^counts\.csv: the row of cup K2 is missing/,
  ],
];

describe('checkPublic()', () => {
  it('finds nothing in a public bundle as it was written (negative control)', async () => {
    expect(await findingsIn(open, () => {})).toEqual([]);
  });

  it('finds that a full bundle without its facts is passed off as a public one', async () => {
    const found = await findingsIn(whole, all(passedOff, cell('counts', 2, 'tray', '1')));
    const text = found.join('\n');
    for (const named of ['visits.csv, line 2, column visit', 'visits.csv, line 2, column zone', 'rules.json'])
      expect(text).toContain(named);
    expect(text).toMatch(
      /^cups\.csv, line 2, column cup: is "a1", and in a public bundle it is one of K1 to K6/m,
    );
  });

  it.each(ANEW)('finds that %s, though the manifest was made anew', async (_, tampering, expected) => {
    const found = await findingsIn(open, tampering);
    expect(found.join('\n')).toMatch(new RegExp(expected.source, 'm'));
  });
});
