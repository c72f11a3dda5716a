import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { commission, count, cupOf, MORNING, openVisit, ride, scans } from '../bundle/invented.js';
import { run } from '../cli/run.js';
import { allInNewFolder } from '../tools/newFolder.js';

const LEFT_OUT = 'not in this store (left out of the bundle)';
const HISTORY = 'oxalic acid in March';
const NOW = '2026-05-13T00:00:00Z';

let folder: string;
let vehicle: string;
/** Of what the vehicle wrote without people's data, and with it. */
let without: string;
let withPeople: string;
allInNewFolder(async (fresh) => {
  folder = fresh;
  vehicle = join(folder, 'vehicle.sqlite');
  const store = openStoreToWrite(vehicle, utcMs(MORNING.opened - 7_200_000));
  commission(store, MORNING);
  openVisit(store, MORNING);
  ride(store, MORNING);
  scans(store, MORNING);
  count(store, MORNING);
  const at = utcMs(MORNING.opened + 300 * 60_000);
  store.append(
    at,
    {
      type: 'cup-noted',
      cup: cupOf(MORNING, 0),
      text: store.keepText('lid was loose'),
      who: store.keepText('Crew One'),
      at,
    },
    { type: 'cup-counted', cup: cupOf(MORNING, 2), tray: null, wash: 3, bees: null, at },
    {
      type: 'board-booted',
      board: MORNING.board as never,
      boot: 1,
      resetCause: 'brown-out',
      firmware: '1.0',
      clock: 'running',
      at: MORNING.opened,
    },
  );
  store.close();
  const told = await command(
    ...['visit', 'open', 'fen-2', '--yard', 'fen', '--history', HISTORY, '--by', 'Crew One'],
    ...['--piece', 'half', '--zone', 'Etc/UTC', '--at', '2026-05-12T18:00:00Z', '--store', vehicle],
  );
  expect(told.code).toBe(0);
  without = await gathered('without');
  withPeople = await gathered('with', '--with-people');
});

const command = (...args: string[]) => run(args, NOW);

async function gathered(name: string, ...options: string[]): Promise<string> {
  const bundle = join(folder, name);
  const store = join(folder, `${name}.sqlite`);
  const visits = [MORNING.visit, 'fen-2'];
  const written = await command(
    ...['bundle', 'write', '--visit', ...visits, '--out', bundle, '--store', vehicle],
    ...options,
  );
  expect(written.code).toBe(0);
  const taken = await command('bundle', 'gather', bundle, '--store', store, '--by', 'The lab');
  expect(taken.code).toBe(0);
  return store;
}
async function labReport(store: string, visit: string): Promise<string> {
  const out = join(folder, 'lab.html');
  const { code } = await command(
    ...['report', 'lab', '--visit', visit, '--final', '--out', out, '--store', store],
  );
  expect(code).toBe(0);
  return readFileSync(out, 'utf8')
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll(/\s+/g, ' ');
}
const cupShown = async (store: string, cup: string) =>
  (await command('cup', 'show', cup, '--store', store)).out;

describe('words of people that a bundle left out', () => {
  it('are told to be left out on the lab report, never as withdrawn or as never told', async () => {
    const page = await labReport(without, MORNING.visit);
    expect(page).toContain(`by a name ${LEFT_OUT}`);
    expect(page).toContain(`reason ${LEFT_OUT}`);
    expect(page).toContain(`note: ${LEFT_OUT}`);
    expect(page).not.toMatch(/withdrawn at|reason withdrawn|name withdrawn|nobody named/);
    const other = await labReport(without, 'fen-2');
    expect(other).toContain(`treatment history ${LEFT_OUT}`);
    expect(other).toContain('piece of strip half');
    expect(other).not.toMatch(/nobody named/);
    // Of this visit no history was told, in whichever store.
    expect(page).toContain('treatment history not told');
  });

  it('are there when the bundle had them (negative control)', async () => {
    const page = await labReport(withPeople, MORNING.visit);
    for (const words of ['by Crew One', '+probe was outside', 'lid was loose']) expect(page).toContain(words);
    expect(await labReport(withPeople, 'fen-2')).toContain(`treatment history ${HISTORY}`);
    for (const text of [page, await cupShown(withPeople, 'a1')]) expect(text).not.toContain('left out');
  });

  it('are told so by `cup show` and `visit result`', async () => {
    expect(await cupShown(without, 'a4')).toContain(` corrected: reason ${LEFT_OUT}`);
    expect(await cupShown(without, 'a1')).toContain(`: ${LEFT_OUT}`);
    const result = (await command('visit', 'result', MORNING.visit, '--final', '--store', without)).out;
    expect(result.replaceAll(/\s+/g, ' ')).toContain(`by the word of a name ${LEFT_OUT}`);
    expect(result).not.toMatch(/(?:name|reason|words) withdrawn/);
  });

  it('are told apart from words that were taken out of the store that kept them', async () => {
    const copy = join(folder, 'copy.sqlite');
    expect((await command('backup', '--out', copy, '--store', vehicle)).code).toBe(0);
    const sqlite = openSqlite(copy, 'write');
    sqlite.immediate(() => sqlite.run('DELETE FROM texts'));
    sqlite.close();
    const page = await labReport(copy, MORNING.visit);
    expect(page).toContain('by a name withdrawn');
    expect(page).toContain('reason withdrawn');
    expect(page).not.toContain('left out of the bundle');
  });

  it('make no difference to what the boards said, which is in every store that has their facts', async () => {
    for (const store of [vehicle, without])
      expect(await labReport(store, MORNING.visit)).toMatch(/0A1B2C3D boot 1: \w.*firmware 1\.0/);
  });

  it('leave the reports of a bundle made in the store that gathered them as they can be made anew', async () => {
    const again = join(folder, 'again');
    const args = ['--visit', MORNING.visit, 'fen-2', '--with-people', '--out', again, '--store', without];
    expect((await command('bundle', 'write', ...args)).code).toBe(0);
    expect(readFileSync(join(again, 'reports/lab-alder-1.html'), 'utf8')).toContain(LEFT_OUT);
    expect((await command('bundle', 'check', again)).code).toBe(0);
  });
});
