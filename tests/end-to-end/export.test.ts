import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { formatInstant } from '../../src/units/time.js';
import { exposureOf } from '../../src/visit/exposures.js';
import { resultToJson, type VisitResultJson, visitResult } from '../../src/visit/result.js';
import { foldSeason } from '../../src/visit/season.js';
import { type Fresh, reading, romOf } from '../store/invented.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder, pathsIn } from '../tools/newFolder.js';
import { assigns, iceChecks, loads, minute, OPENED, opens, seats, turns, visit } from '../visit/situation.js';
import { changedProgram, interrupted } from './changedProgram.js';
import { onTerminal } from './onTerminal.js';
import { PROGRAM, type Run, stillwarm } from './program.js';

/** A morning of ten cups, exported by the program as it is run, and interrupted. */
const CUPS = Array.from({ length: 10 }, (_, index) => index + 1);
const NOW = minute(1000);
let folder: string;
let store: string;
let rulings: VisitResultJson['rulings']['cups'];
const newPath = pathsIn(() => folder, 'readings.csv');

/** Every ten seconds for four hours: each cup has a dip of its own, fails now and then, and has a hole. */
const morning = CUPS.flatMap((cup) =>
  Array.from({ length: 1440 }, (_, scan): Fresh | null => {
    const minutes = scan / 6;
    if (cup === 1 && minutes > 60 && minutes < 75) return null;
    const isCold = minutes > 40 && minutes < 40 + cup * 2;
    const raw = isCold ? 200 + (scan % 3) : 380 + ((scan * 7 + cup) % 23);
    const status = scan % 97 === cup ? 'bad-crc' : 'ok';
    return { ...reading(cup, scan), utc: minute(minutes), raw, status };
  }).filter((each) => each !== null),
);

allInNewFolder((fresh) => {
  folder = fresh;
  store = join(folder, 'day.sqlite');
  const opened = openStoreToWrite(store, OPENED);
  opened.transaction(() => {
    const facts = CUPS.flatMap((cup) => [
      assigns(cup, romOf(cup), -10),
      iceChecks(0.03 * cup - 0.1, -5, romOf(cup)),
      loads(`c${cup}`, cup),
      seats(`c${cup}`, cup, cup + 2),
      turns(`c${cup}`, cup + 182),
    ]);
    opened.append(OPENED, opens, ...facts);
    opened.addReadings(morning);
  });
  while (opened.sealOldest(minute(180), Number.MAX_SAFE_INTEGER, NOW) !== null);
  const season = foldSeason(opened.facts());
  rulings = resultToJson(visitResult(opened, season, [season.visits.get(visit)!], NOW)).rulings.cups;
  opened.close();
});

const exported = (...args: string[]): Promise<Run> => stillwarm('export', '--store', store, ...args);

/** The temperature as rulings are made from it; the cell `celsius` is rounded. */
const exact = (row: Record<string, string>) =>
  Number(row['raw_sixteenths']) / 16 - Number(row['offset_celsius']);

/** What `judge` says of the exported rows, each cup under its exposure and seatings. */
async function judgedAgain(rows: readonly Record<string, string>[]) {
  const opened = openStoreToRead(store);
  const season = foldSeason(opened.facts());
  opened.close();
  const readings = rows.map((row) =>
    [row['probe'], row['time_utc'], exact(row), row['is_used'] === 'true' ? '' : 'not used'].join(','),
  );
  const seatings = [...season.cups.values()].flatMap((cup) => {
    const { load, turn, seatings: all } = exposureOf(season, cup, NOW);
    return all.map(({ probe, from, to, uncertainty }) =>
      [cup.cup, probe, ...[load, turn, from, to].map(formatInstant), uncertainty].join(','),
    );
  });
  const [r, e] = [newPath('r.csv'), newPath('e.csv')];
  writeFileSync(r, ['probe,time,celsius,flag', ...readings, ''].join('\n'));
  writeFileSync(e, ['cup,probe,load,turn,from,to,uncertainty', ...seatings, ''].join('\n'));
  const { out } = await stillwarm('judge', '--readings', r, '--exposures', e, '--json');
  return (JSON.parse(out) as VisitResultJson['rulings']).cups;
}
const plain = (cups: VisitResultJson['rulings']['cups']) =>
  Object.fromEntries(
    cups.map(({ cup, ruling, coldMinutes, minCelsius }) => [cup, { ruling, coldMinutes, minCelsius }]),
  );

describe('export', () => {
  it('gives a series from which every cup is judged again as it was', async () => {
    const out = newPath();
    const run = await exported('--out', out, '--json');
    expect(run.code).toBe(0);
    const rows: Record<string, string>[] = parse(readFileSync(out), { columns: true });
    expect(JSON.parse(run.out)).toMatchObject({ rows: rows.length, unreadableBlocks: 0 });
    expect(new Set(rulings.map(({ ruling }) => ruling)).size).toBeGreaterThan(2);
    expect(plain(await judgedAgain(rows))).toEqual(plain(rulings));
    // Negative control: half of the readings are not the series.
    const half = plain(await judgedAgain(rows.filter((_, index) => index % 8 < 2)));
    expect(half).not.toEqual(plain(rulings));
  });

  it('prints the same on standard output, and nothing else', async () => {
    const out = newPath();
    await exported('--out', out, '--carrier', 'A');
    const printed = await exported('--carrier', 'A');
    expect(printed.out).toBe(readFileSync(out, 'utf8'));
    expect(printed.err).toMatch(/^exported: \d+ readings of \d+ probes, /);
    expect(
      new Set(
        printed.out
          .split('\r\n')
          .slice(1, -1)
          .map((line) => line.split(',')[9]),
      ),
    ).toEqual(new Set(['A']));
  });

  it('ends when whoever reads it has gone', async () => {
    const { status, stdout, stderr } = spawnSync(
      'bash',
      [
        '-c',
        `set -o pipefail; "$0" "$1" export --store "$2" | head -n 1; exit \${PIPESTATUS[0]}`,
        process.execPath,
        PROGRAM,
        store,
      ],
      { encoding: 'utf8' },
    );
    expect(stdout).toMatch(/^probe,time_utc,[^\n]*\r\n$/);
    expect(stderr).toMatch(/The export was stopped before its end; no file was made\.\n$/);
    expect(status).toBe(1);
  });
});

/** An export that waits after its first piece, and gets a signal there. */
const interruptedExport = (out: string, signal: NodeJS.Signals) => {
  const honest = 'await write(piece);';
  return interrupted(
    (wait) => changedProgram('/export/exportSeries.js', honest, `{ ${honest}${wait} }`),
    ['export', '--store', store, '--out', out],
    signal,
    (pid) => expect(readdirSync(join(out, '..'))).toEqual([`readings.csv.${pid}.part`]),
  );
};

describe('the bar of an export', () => {
  it.skipIf(whyNot('socat'))('is full at the end on a terminal, and is not in a pipe', async () => {
    const out = newPath();
    const terminal = onTerminal(folder, 'export', '--store', store, '--out', out);
    await terminal.sees(/\[#{40}\] 100 % {2}\d+ readings/);
    expect(await terminal.ended()).toBe(0);
    const rows = readFileSync(out, 'utf8').split('\r\n').length - 2;
    expect(terminal.shown()).toContain(`100 %  ${rows} readings`);
    expect((await exported('--out', newPath())).err).toBe('');
  });
});

describe('an interrupted export', () => {
  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('leaves no file after %s', async (signal) => {
    const out = newPath();
    const { child, err } = await interruptedExport(out, signal);
    expect(child.exitCode).toBe(1);
    expect(err).toBe('writtenThe export was stopped before its end; no file was made.\n');
    expect(readdirSync(join(out, '..'))).toEqual([]);
  });

  it('leaves none under its name after SIGKILL, and the next one names what was left', async () => {
    const out = newPath();
    const { child } = await interruptedExport(out, 'SIGKILL');
    expect(child.signalCode).toBe('SIGKILL');
    expect(existsSync(out)).toBe(false);
    const next = await exported('--out', out);
    expect(next.err).toBe(
      `${out}.${child.pid}.part was left by an export that was killed; nothing needs it, remove it.\n`,
    );
    expect(next.code).toBe(0);
    expect(existsSync(out)).toBe(true);
  });

  it.each([
    ['export', '--store'],
    ['visit', 'list', '--store'],
  ])('says in one sentence that what %s prints finds no room', (...command) => {
    // /dev/full is always full (full(4)).
    const program = [process.execPath, PROGRAM, ...command, store];
    const ran = spawnSync('sh', ['-c', `"$0" "$@" > /dev/full`, ...program], { encoding: 'utf8' });
    expect(ran.stderr).toBe(
      'What is printed cannot be written, its disk is full; make room or name another disk. Not all of it is there.\n',
    );
    expect(ran.status).toBe(1);
  });

  it('leaves none on a full disk, and says what to do', async (context) => {
    const disk = newPath('disk');
    mkdirSync(disk);
    const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=512k', 'tmpfs', disk]).status === 0;
    if (!mounted && process.env['CI'] !== 'true') context.skip('needs to mount a disk in memory (root)');
    expect(mounted).toBe(true);
    try {
      const out = join(disk, 'readings.csv');
      const run = await exported('--out', out);
      expect(run).toEqual({
        code: 1,
        out: '',
        err: `${out} cannot be written, its disk is full; make room or name another disk. Nothing was left under that name.\n`,
      });
      expect(readdirSync(disk)).toEqual([]);
    } finally {
      spawnSync('umount', ['-l', disk]);
    }
  });
});
