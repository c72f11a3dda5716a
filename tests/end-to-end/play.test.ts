import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { openStoreToRead } from '../../src/store/store.js';
import type { VisitResultJson } from '../../src/visit/result.js';
import { playFlawlessly } from '../emulator/scenarios/flawless.js';
import { inFolder, PROGRAM, type Run, stillwarm, until } from './program.js';

interface Played {
  readonly run: Run;
  readonly json: VisitResultJson;
  readonly broken: number | null;
  readonly discards: unknown[];
  /** How many pages of each board's log are in the store. */
  readonly pages: number[];
}

/** What a scenario comes to by way of the firmware, the wire, the logger, the store and the ruling. */
async function played(scenario: string): Promise<Played> {
  return inFolder(async (folder) => {
    const store = join(folder, 'played.sqlite');
    const run = await stillwarm('play', '--scenario', scenario, '--speed', 'max', '--json', '--store', store);
    expect(run).toMatchObject({ code: 0 });
    const opened = openStoreToRead(store);
    const broken = opened.brokenAt();
    const discards = opened.discards();
    const boards = opened.facts().flatMap(({ fact }) => (fact.type === 'board-booted' ? [fact.board] : []));
    const pages = boards.map((board) => opened.pageNumbers(board).length);
    opened.close();
    return { run, json: JSON.parse(run.out) as VisitResultJson, broken, discards, pages };
  });
}
const kinds = ({ rulings }: VisitResultJson) => {
  const count: Record<string, number> = {};
  for (const { ruling } of rulings.cups) count[ruling] = (count[ruling] ?? 0) + 1;
  return count;
};
const verdicts = ({ yards }: VisitResultJson) =>
  yards.map(({ yard, verdict, allCups }) => [yard, verdict, allCups.verdict]);

/** The command lines of all running processes (Linux). */
function commandLines(): string[] {
  return readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .flatMap((pid) => {
      try {
        return [readFileSync(`/proc/${pid}/cmdline`, 'latin1').replaceAll('\0', ' ')];
      } catch {
        return [];
      }
    });
}

describe('play --speed max --json', () => {
  let cold: Awaited<ReturnType<typeof played>>;
  let warm: Awaited<ReturnType<typeof played>>;
  beforeAll(async () => {
    cold = await played('cold-morning');
    warm = await played('warm-day');
  });

  it('prints JSON and nothing else', () => {
    expect(cold.run).toMatchObject({ code: 0, err: '' });
    expect(cold.run.out.trim().split('\n')).toHaveLength(1);
  });

  it('finds the cold cups of one yard, whose verdict they would have turned', () => {
    expect(kinds(cold.json)).toEqual({ valid: 15, cold: 4, unproven: 1 });
    expect(verdicts(cold.json)).toEqual([
      ['alder-07', 'above-line', 'above-line'],
      ['sedge-12', 'above-line', 'below-line'],
    ]);
  });

  it('finds no cold cup on a warm day, where leaving cups out changes nothing', () => {
    expect(kinds(warm.json)).toEqual({ valid: 20 });
    for (const [, verdict, allCups] of verdicts(warm.json)) expect(verdict).toBe(allCups);
  });

  it.each(['cold-morning', 'warm-day'])('comes to what a carrier without losses would: %s', (name) => {
    const { json } = name === 'cold-morning' ? cold : warm;
    const flawless = playFlawlessly(findScenario(name)!);
    expect(json.rulings.cups.map(({ cup, ruling }) => [cup, ruling]).sort()).toEqual(
      flawless.rulings.map(({ cup, ruling }) => [cup, ruling]).sort(),
    );
    for (const mine of json.rulings.cups) {
      const theirs = flawless.rulings.find(({ cup }) => cup === mine.cup)!;
      expect(Math.abs(mine.coldMinutes.certain - theirs.coldMinutes.certain)).toBeLessThan(1);
      expect(Math.abs(mine.minCelsius! - theirs.minCelsius!)).toBeLessThanOrEqual(0.125);
    }
  });

  it('loses nothing on the way and keeps the chain whole', () => {
    for (const { broken, discards } of [cold, warm]) {
      expect(broken).toBeNull();
      expect(discards).toEqual([]);
    }
  });

  it('reads the boards’ logs while it listens, as a host on a port does', () => {
    // Ten probes: seven scans of ten seconds a page (docs/wire-protocol.md), over 4 h or more.
    for (const { pages } of [cold, warm]) {
      expect(pages).toHaveLength(2);
      expect(Math.min(...pages)).toBeGreaterThan(200);
    }
  });

  it.each(['cold-morning', 'warm-day'])('has the fields of the contract and no other: %s', (name) => {
    const { json } = name === 'cold-morning' ? cold : warm;
    const words = (text: string) => text.split(' ').sort();
    const keys = (value: object | null) => Object.keys(value ?? {}).sort();
    expect(keys(json)).toEqual(words('level yards cups rulings'));
    expect(json.yards).toHaveLength(2);
    for (const yard of json.yards) {
      expect(keys(yard)).toEqual(
        words(
          'yard arm verdict efficacy interval designEffect effectiveMites cups tray wash naiveInterval meanOfCups betaBinomial byGroup moreCups allCups control infestation remarks',
        ),
      );
      expect(keys(yard.cups)).toEqual(words('valid excluded unread empty'));
      expect(keys(yard.betaBinomial)).toEqual(words('mu rho'));
      expect(keys(yard.byGroup)).toEqual(words('k designEffect interval'));
      expect(keys(yard.allCups)).toEqual(words('efficacy interval verdict'));
      expect(keys(yard.control)).toEqual(
        expect.arrayContaining(words('cups tray wash fall efficacyCorrected interval')),
      );
      expect(keys(yard.infestation)).toEqual(words('per100 interval'));
      expect(yard.interval![0]).toBeLessThan(yard.efficacy!);
      expect(yard.interval![1]).toBeGreaterThan(yard.efficacy!);
    }
    expect(json.cups).toHaveLength(20);
    for (const cup of json.cups)
      expect(keys(cup)).toEqual(words('yard cup efficacy wilson clopperPearson jeffreys per100 remarks'));
    expect(json.rulings.cups).toHaveLength(20);
    for (const cup of json.rulings.cups)
      expect(keys(cup)).toEqual(
        words(
          'cup ruling reasons exposureMinutes observedMinutes coldMinutes longestColdSpellMinutes hotMinutes longestHotSpellMinutes minCelsius maxCelsius meanCelsius degreeMinutesBelow gaps remarks',
        ),
      );
    expect(json.rulings.rules).toMatchObject({ thresholdCelsius: 140 / 9, coldTotalMinutes: 10 });
  });
});

describe('play', () => {
  it('refuses a scenario it does not have', async () => {
    const { code, err, out } = await stillwarm('play', '--scenario', 'hail');
    expect({ code, err, out }).toEqual({
      code: 1,
      err: 'There is no scenario hail; choose cold-morning, warm-day or practice.\n',
      out: '',
    });
  });

  it('refuses to play into a file that exists', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'season.sqlite');
      await stillwarm('visit', 'open', 'v1', '--yard', 'y1', '--store', store);
      const { code, err } = await stillwarm('play', '--store', store);
      expect(code).toBe(1);
      expect(err).toContain('exists already');
    });
  });

  it('leaves nothing behind when it may not keep a store', async () => {
    const { code, err } = await stillwarm('play', '--store', '/nonexistent/x.sqlite', '--speed', 'max');
    expect(code).toBe(1);
    expect(err).toMatch(
      /^The logger did not start: .*x\.sqlite cannot be opened; check that its folder exists/,
    );
    expect(existsSync('/nonexistent')).toBe(false);
  });

  it.each([
    [0.1, 'SIGINT'],
    [0.4, 'SIGTERM'],
    [2, 'SIGINT'],
    [2, 'SIGHUP'],
  ] as const)(
    'leaves nothing running and nothing behind %d s after its start, on %s',
    async (seconds, how) => {
      await inFolder(async (folder) => {
        const child = playIn(folder);
        await new Promise((resolve) => setTimeout(resolve, seconds * 1000));
        child.kill(how);
        await once(child, 'close');
        expect(readdirSync(folder)).toEqual([]);
        expect(commandLines().length).toBeGreaterThan(0);
        expect(commandLines().filter((line) => line.includes(folder))).toEqual([]);
      });
    },
  );

  it('leaves nothing running when it is killed outright', async () => {
    await inFolder(async (folder) => {
      const child = playIn(folder);
      await until('the logger runs', () => commandLines().some((line) => line.includes(folder)));
      child.kill('SIGKILL');
      await until('the logger is gone', () => !commandLines().some((line) => line.includes(folder)), 20);
    });
  });

  it('stops when nobody reads on', async () => {
    await inFolder(async (folder) => {
      const command = `'${process.execPath}' '${PROGRAM}' play 2>&1 | head -n 1`;
      const shell = spawn('sh', ['-c', command], {
        stdio: 'ignore',
        env: { ...process.env, TMPDIR: folder },
      });
      // At 120 times real time the whole morning would take more than two minutes: much longer than this waits.
      await until('it has ended', () => shell.exitCode !== null, 20);
      expect(readdirSync(folder)).toEqual([]);
    });
  });
});

/** Starts the scenario at its usual speed, with its temporary files in a folder of the test's. */
const playIn = (folder: string) =>
  spawn(process.execPath, [PROGRAM, 'play'], { stdio: 'ignore', env: { ...process.env, TMPDIR: folder } });
