import { spawn } from 'node:child_process';
import { beforeAll, describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { FIELD_DAY, type Step, ZONE } from './fieldDay/day.js';
import { paneRunning } from './fieldDay/pane.js';
import { BUILD, STEERED, steer, writeDay } from './fieldDay/steering.js';
import { inFolder, type Run } from './program.js';

const RESULT = ['visit', 'result', '260512-1', '--json'];
type Result = {
  readonly yards: readonly object[];
  readonly rulings: { readonly cups: readonly { readonly cup: string; readonly ruling: string }[] };
};
const resultOf = ({ code, out, err }: Run): Result => {
  expect(code, err).toBe(0);
  return JSON.parse(out);
};
/** By the ride: slots 1 and 2 are draughty, C-104 was replaced by C-111, C-107 spoiled. */
const RULED = {
  'C-101': 'cold',
  'C-102': 'cold',
  'C-103': 'valid',
  'C-104': 'spoiled',
  'C-105': 'valid',
  'C-106': 'valid',
  'C-107': 'spoiled',
  'C-108': 'valid',
  'C-109': 'valid',
  'C-110': 'valid',
  'C-111': 'valid',
};
const env = { TZ: ZONE, LANG: 'C.UTF-8', LC_ALL: 'C.UTF-8' };

/** The day at the screen: its result, and the screens that were kept, by name. */
async function byKeys(columns: number, rows: number, more: Readonly<Record<string, string>> = {}) {
  return inFolder(async (folder) => {
    writeDay(folder, FIELD_DAY);
    const line = [process.execPath, STEERED, BUILD, folder, 'watch', '--by', 'Rika'];
    const pane = paneRunning(`stillwarm-${columns}-${process.pid}`, { columns, rows }, line, {
      ...env,
      ...more,
    });
    try {
      const day = await steer(folder);
      await pane.settled('> _');
      const screens = new Map<string, string>();
      let coloured = '';
      const type = async (keys: string) => {
        pane.type(keys);
        await day.took(keys.length);
      };
      for (const { time, keys, shows } of FIELD_DAY.steps) {
        await day.to(time);
        const [before = '', after = ''] = keys.split('|');
        await type(before);
        if (shows !== undefined) {
          screens.set(shows, await pane.settled(keys === '' ? `${time}:00` : '> '));
          coloured += pane.coloured();
        }
        await type(after);
      }
      const result = resultOf(await day.run(...RESULT));
      day.close();
      return { screens, coloured, result };
    } finally {
      pane.kill();
    }
  });
}

/** The same day by commands. */
async function byCommands() {
  return inFolder(async (folder) => {
    writeDay(folder, FIELD_DAY);
    const child = spawn(process.execPath, [STEERED, BUILD, folder], {
      env: { ...process.env, ...env },
      stdio: 'inherit',
    });
    try {
      const day = await steer(folder);
      for (const step of FIELD_DAY.steps) {
        await day.to(step.time);
        for (const line of await commandsOf(step, day.run)) {
          const { code, err } = await day.run(...line, '--by', 'Rika');
          expect(code, `${line.join(' ')}: ${err}`).toBe(0);
        }
      }
      const result = resultOf(await day.run(...RESULT));
      day.close();
      return result;
    } finally {
      child.kill('SIGTERM');
    }
  });
}

type Steering = Awaited<ReturnType<typeof steer>>;

/** The commands of a step, with the number of an entry in place of what it is. */
async function commandsOf({ commands }: Step, run: Steering['run']): Promise<string[][]> {
  const named = async (word: string): Promise<string> => {
    const [, cup] = /^load of (.*)$/.exec(word) ?? [];
    if (cup === undefined) return word;
    const { out } = await run('cup', 'show', cup, '--json');
    return String(JSON.parse(out).entries.find(({ type }: { type: string }) => type === 'cup-loaded').entry);
  };
  return Promise.all(commands.map((line) => Promise.all(line.map(named))));
}

/** What the computer of the test has, not the day. */
const steady = (screen: string) => screen.replace(/disk \d+ [A-Z]B free/, 'disk 80 GB free');
const fileOf = (size: string, name: string) => `fieldDay/screens/${size}/${name.replaceAll(' ', '-')}.txt`;
/** Colours of text and of ground, as terminals take them. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: that is what is looked for
const COLOUR = /\u001b\[(\d+;)*(3|4|9|10)[0-7][;m]/;

const SIZES = {
  '80x24': { columns: 80, rows: 24, env: {}, isColoured: true },
  '60x20': { columns: 60, rows: 20, env: { NO_COLOR: '1' }, isColoured: false },
} as const;

describe.skipIf(whyNot('tmux'))(`a whole visit on the emulated carrier ${whyNot('tmux') ?? ''}`, () => {
  let commanded: Awaited<ReturnType<typeof byCommands>>;
  const typed = new Map<string, Awaited<ReturnType<typeof byKeys>>>();
  beforeAll(async () => {
    // Each takes half a minute, mostly of the emulation: side by side.
    await Promise.all([
      byCommands().then((result) => {
        commanded = result;
      }),
      ...Object.entries(SIZES).map(async ([size, { columns, rows, env: more }]) =>
        typed.set(size, await byKeys(columns, rows, more)),
      ),
    ]);
  }, 300_000);

  it('by commands: the cups that went cold are ruled out, all others count', () => {
    const { yards, rulings } = commanded;
    expect(yards[0]).toMatchObject({ yard: 'alder-07', cups: { unread: 0, empty: 0 } });
    const said = new Map(rulings.cups.map(({ cup, ruling }) => [cup, ruling]));
    expect(Object.fromEntries(said)).toEqual(RULED);
  });

  describe.each(Object.entries(SIZES))('by keys on a terminal of %s', (size, { isColoured }) => {
    it('has the same result as by commands', () => {
      expect(typed.get(size)!.result).toEqual(commanded);
    });

    it('shows every screen as it is kept', async () => {
      for (const [name, shown] of typed.get(size)!.screens)
        await expect(steady(shown)).toMatchFileSnapshot(fileOf(size, name));
    });

    it(isColoured ? 'is coloured' : 'has no colour when none is wanted', () => {
      expect(COLOUR.test(typed.get(size)!.coloured)).toBe(isColoured);
    });
  });
});
