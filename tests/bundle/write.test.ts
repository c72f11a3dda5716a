import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { Ajv } from 'ajv';
import addFormats from 'ajv-formats';
import { parse } from 'csv-parse/sync';
import { afterAll, describe, expect, it } from 'vitest';
import { checkBundle } from '../../src/bundle/check.js';
import { writeBundle } from '../../src/bundle/write.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { Refusal } from '../../src/units/refusal.js';
import { utcMs } from '../../src/units/time.js';
import { visitResult } from '../../src/visit/result.js';
import { foldSeason } from '../../src/visit/season.js';
import { allInNewFolder } from '../tools/newFolder.js';
import {
  bundleOf,
  commission,
  MORNING,
  morningStore,
  openVisit,
  ride,
  romOf,
  scans,
  writing,
} from './invented.js';

let folder: string;
let store: Store;
let plain: string;
allInNewFolder(async (fresh) => {
  folder = fresh;
  store = morningStore(join(folder, 'season.sqlite'));
  plain = await bundleOf(store, join(folder, 'plain'));
});
afterAll(() => {
  store.close();
});

const text = (bundle: string, file: string) => readFileSync(join(bundle, file), 'utf8');
const rows = (bundle: string, table: string) =>
  parse(text(bundle, `${table}.csv`), { columns: true }) as Record<string, string>[];
const whole = (bundle: string) =>
  readdirSync(bundle, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => readFileSync(join(entry.parentPath, entry.name), 'utf8'))
    .join('\n');

describe('writeBundle()', () => {
  it('writes a descriptor that is valid by the published profile, and one with a fault is not', () => {
    const ajv = new Ajv({ strict: false });
    addFormats.default(ajv);
    ajv.addFormat('textarea', true);
    // Data Package 2.0, see tests/reference/data-package-2.0/README.md
    const valid = ajv.compile(
      JSON.parse(readFileSync('tests/reference/data-package-2.0/datapackage.json', 'utf8')),
    );
    const descriptor = JSON.parse(text(plain, 'datapackage.json'));
    expect(valid(descriptor), JSON.stringify(valid.errors)).toBe(true);
    expect(valid({ ...descriptor, resources: [] })).toBe(false);
    expect(valid({ ...descriptor, created: 'yesterday' })).toBe(false);
    expect(descriptor.resources.map(({ path }: { path: string }) => path)).toContain('readings.csv');
  });

  it('writes a manifest that `sha256sum -c` accepts, and refuses after a changed byte', async () => {
    const sums = (bundle: string) =>
      execFileSync('sha256sum', ['--strict', '-c', 'SHA256SUMS'], {
        cwd: bundle,
        encoding: 'utf8',
        stdio: 'pipe',
      });
    const lines = sums(plain).trim().split('\n');
    expect(lines.every((line) => line.endsWith(': OK'))).toBe(true);
    // All files but the manifest itself.
    expect(lines).toHaveLength(
      readdirSync(plain, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).length -
        1,
    );
    const changed = join(folder, 'changed');
    await writeBundle(store, writing(changed));
    writeFileSync(join(changed, 'counts.csv'), text(changed, 'counts.csv').replace('302', '303'));
    expect(() => sums(changed)).toThrow();
  });

  it('tells the rulings that the store itself gives', () => {
    const season = foldSeason(store.facts());
    const visit = [...season.visits.values()][0]!;
    const result = visitResult(store, season, [visit], writing(plain).now);
    const told = rows(plain, 'rulings');
    expect(
      told.map(({ cup, ruling, cold_certain_min: cold, mean_celsius: mean }) => [
        cup,
        ruling,
        Number(cold),
        Number(mean),
      ]),
    ).toEqual(
      result.rulings.map(({ cup, ruling, coldMinutes, meanCelsius }) => [
        cup,
        ruling,
        coldMinutes.certain,
        meanCelsius,
      ]),
    );
    expect(told.map(({ ruling }) => ruling)).toEqual(['valid', 'cold', 'valid', 'valid', 'spoiled', 'valid']);
    // What counts is what a person set it to; an unread wash stays empty.
    expect(rows(plain, 'counts').map(({ ruling, tray, wash }) => [ruling, tray, wash])).toEqual([
      ['valid', '8', '3'],
      ['valid', '8', '3'],
      ['valid', '9', ''],
      ['valid', '10', '3'],
      ['spoiled', '11', '3'],
      ['valid', '1', '3'],
    ]);
  });

  it('marks texts that a spreadsheet would take for a formula, and no number', () => {
    expect(rows(plain, 'cups')[0]).toMatchObject({ colony: "'=1", mother_line: "'-line" });
    expect(rows(plain, 'visits')[0]!['piece']).toBe("'=1 in x 1 in");
    for (const line of text(plain, 'readings.csv').split('\r\n').slice(1, 50))
      expect(line).not.toContain("'");
  });

  it('leaves names and words of people out unless asked', async () => {
    const people = /Crew One|lid came off|miscounted|the card says/;
    expect(whole(plain)).not.toMatch(people);
    const asked = join(folder, 'people');
    await writeBundle(store, writing(asked, { withPeople: true }));
    expect(rows(asked, 'texts').map(({ text: words }) => words)).toEqual(
      expect.arrayContaining(['Crew One', 'lid came off', 'miscounted, "twice"', "'+probe was outside"]),
    );
    const why = rows(asked, 'corrections').find(({ what }) => what === 'count-corrected')!['why_ref'];
    expect(rows(asked, 'texts').find(({ ref }) => ref === why)!['text']).toBe('miscounted, "twice"');
  });

  it('gives other names and coarser dates in a public bundle, the same names throughout', async () => {
    const open = join(folder, 'public');
    // On the evening of the visit, as it is done: what says when it was written would undo the coarser dates.
    const told = await writeBundle(store, writing(open, { isPublic: true }));
    const secrets =
      /alder|'=1,|2026-05-(?!01)..|-line|Crew|fen shop|marsh|1 in x|"created"|\ba[1-6]\b|Etc\/UTC/g;
    expect(whole(open).match(secrets)).toBe(null);
    // Negative control: each of them is in the full bundle.
    expect(
      new Set(
        whole(plain)
          .match(secrets)
          ?.map((each) => each.replace(/^2026.*/, 'day')),
      ),
    ).toEqual(
      new Set(
        'alder \'=1, day -line fen_shop marsh 1_in_x "created" a1 a2 a3 a4 a5 a6 Etc/UTC'
          .split(' ')
          .map((each) => each.replaceAll('_', ' ')),
      ),
    );
    expect(Object.keys(told)).not.toContain('opened');
    const times = readdirSync(open).map((name) => statSync(join(open, name)).mtime.toISOString());
    expect(new Set([...times, statSync(open).mtime.toISOString()])).toEqual(
      new Set(['2026-05-01T00:00:00.000Z']),
    );
    expect(existsSync(join(open, 'facts'))).toBe(false);
    expect(rows(open, 'visits')[0]).toMatchObject({
      visit: 'V1',
      yard: 'Y1',
      zone: '',
      lot: 'L1',
      piece: '',
      opened_utc: '2026-05-01T12:00:00.000Z',
    });
    expect(
      rows(open, 'cups')
        .map(({ cup, colony, mother_line: line }) => [cup, colony, line])
        .slice(0, 2),
    ).toEqual([
      ['K1', 'C1', 'M1'],
      ['K2', 'C2', 'M1'],
    ]);
    expect(rows(open, 'cups').map(({ replaced_by: by }) => by)).toEqual(['', '', '', '', 'K6', '']);
    expect(rows(plain, 'cups').map(({ replaced_by: by }) => by)).toEqual(['', '', '', '', 'a6', '']);
    expect(JSON.parse(text(open, 'rules.json')).rules).toMatchObject([{ name: 'S1', version: 1, line: 0.7 }]);
    expect(new Set(rows(open, 'seatings').map(({ carrier }) => carrier))).toEqual(new Set(['R1']));
    expect(rows(open, 'counts').map(({ cup }) => cup)).toEqual(rows(open, 'cups').map(({ cup }) => cup));
    const figures = (bundle: string) => rows(bundle, 'rulings').map(({ cup: _, ...rest }) => rest);
    expect(figures(open)).toEqual(figures(plain));
    expect(rows(open, 'corrections').find(({ field }) => field === 'at')).toMatchObject({
      old: '2026-05-01T12:08:00.000Z',
      new: '2026-05-01T12:07:00.000Z',
      who_ref: '',
    });
    expect((await checkBundle(open)).findings).toEqual([]);
  });

  it('overwrites nothing, and leaves nothing when it fails', async () => {
    const taken = join(folder, 'taken');
    mkdirSync(taken);
    await expect(writeBundle(store, writing(taken))).rejects.toThrow(/exists, and nothing is overwritten/);
    const broken = {
      ...store,
      provenReadings: () => {
        throw new Error('the disk is gone');
      },
    };
    const out = join(folder, 'broken');
    await expect(writeBundle(broken, writing(out))).rejects.toThrow('the disk is gone');
    expect(readdirSync(folder).filter((name) => name.startsWith('broken'))).toEqual([]);
    mkdirSync(`${out}.${process.pid}.part`);
    await expect(writeBundle(store, writing(out))).rejects.toThrow(/cannot be written/);
    expect(existsSync(`${out}.${process.pid}.part`)).toBe(true);
    rmSync(`${out}.${process.pid}.part`, { recursive: true });
    await expect(writeBundle(store, writing(join(folder, 'none', 'deep')))).rejects.toThrow(Refusal);
    await expect(writeBundle(store, writing(out, { visits: ['elm-1'] }))).rejects.toThrow(
      /There is no visit elm-1; there are alder-1/,
    );
    await expect(writeBundle(store, writing(out, { isPublic: true, withPeople: true }))).rejects.toThrow(
      Refusal,
    );
    expect(existsSync(out)).toBe(false);
  });

  it('leaves out readings that nobody can place in time', async () => {
    const other = morningStore(join(folder, 'unplaced.sqlite'));
    const [reading] = other.readings(romOf(1), MORNING.opened, utcMs(MORNING.opened + 3_600_000));
    other.addReadings([{ ...reading!, scan: 9000, boot: 7, status: 'unplaced' }]);
    const out = join(folder, 'unplaced');
    await writeBundle(other, writing(out));
    other.close();
    expect(rows(out, 'readings')).toHaveLength(rows(plain, 'readings').length);
    expect(text(out, 'readings.csv')).not.toContain('unplaced');
  });

  it('writes each table as Parquet, too, which DuckDB 1.5 reads as it reads the CSV', async () => {
    const out = join(folder, 'parquet');
    await writeBundle(store, writing(out, { asParquet: true }));
    expect((await checkBundle(out)).findings).toEqual([]);
    const connection = await (await DuckDBInstance.create(':memory:')).connect();
    const unlike = async (columns: string, table: string, where = '') => {
      const side = (end: string) => `SELECT ${columns} FROM '${join(out, table)}.${end}' ${where}`;
      const sql = `SELECT count(*) AS n FROM ((${side('csv')}) EXCEPT ALL (${side('parquet')}))`;
      return Number((await connection.runAndReadAll(sql)).getRowObjects()[0]!['n']);
    };
    const columns =
      'probe, epoch_ms(time_utc) AS at, celsius, is_used, raw_sixteenths, status, store, board, reading, sealed';
    expect(await unlike(columns, 'readings')).toBe(0);
    // Negative control: other rows would be found.
    expect(await unlike('celsius + random() AS celsius', 'readings')).toBeGreaterThan(0);
    expect(await unlike('cup, ruling, cold_certain_min, mean_celsius, gaps', 'rulings')).toBe(0);
    const { 0: first } = (
      await connection.runAndReadAll(`SELECT colony FROM '${join(out, 'cups.parquet')}'`)
    ).getRowObjects();
    expect(first).toEqual({ colony: '=1' });
    connection.closeSync();
  });

  it('holds its reports as resources, with the head of the chain that is here', () => {
    const { resources, stillwarm } = JSON.parse(text(plain, 'datapackage.json'));
    const reports = resources.filter(({ path }: { path: string }) => path.startsWith('reports/'));
    expect(reports).toMatchObject([
      { name: 'reports-beekeeper', path: 'reports/beekeeper.html', mediatype: 'text/html' },
      { name: 'reports-lab-alder-1', path: 'reports/lab-alder-1.html', mediatype: 'text/html' },
    ]);
    expect(text(plain, 'SHA256SUMS')).toContain('  reports/lab-alder-1.html\n');
    expect(text(plain, 'reports/lab-alder-1.html')).toContain(stillwarm.chains[0].head);
  });

  it('is of the visits asked for', () => {
    expect(rows(plain, 'visits').map(({ visit }) => visit)).toEqual([MORNING.visit]);
  });

  it('tells all as of one instant: hours that are sealed meanwhile are told as unsealed', async () => {
    const busy = openStoreToWrite(join(folder, 'busy.sqlite'), utcMs(MORNING.opened - 7_200_000));
    commission(busy, MORNING);
    openVisit(busy, MORNING);
    ride(busy, MORNING);
    const before = busy.chains();
    scans(busy, MORNING);
    const out = join(folder, 'busy');
    await writeBundle({ ...busy, chains: () => before }, writing(out));
    busy.close();
    const { findings, readings, proven } = await checkBundle(out);
    expect(findings).toEqual([]);
    expect([readings, proven]).toEqual([2400, 0]);
  });

  it('tells a slot assigned twice at the same moment once, and its bundle holds', async () => {
    const path = join(folder, 'twice.sqlite');
    const again = morningStore(path);
    const told = again.facts().find(({ fact }) => fact.type === 'probe-assigned')!.fact;
    again.append(told.at, told);
    const out = join(folder, 'twice');
    await writeBundle(again, writing(out));
    again.close();
    const places = (bundle: string) => rows(bundle, 'probes').map(({ store: _, ...place }) => place);
    expect(places(out)).toEqual(places(plain));
    expect((await checkBundle(out)).findings).toEqual([]);
  });
});
