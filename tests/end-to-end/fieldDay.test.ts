import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { type TmuxWindow, tmuxIn } from '../tools/tmux.js';
import { CREW, FIELD_DAY, ZONE } from './fieldDay/day.js';
import { BUILD, STEERED, steer, writeDay } from './fieldDay/steering.js';
import { inFolder, type Run, until } from './program.js';

const RESULT = ['visit', 'result', '260512-1', '--json'];
const CUPS = Array.from({ length: 11 }, (_, index) => `C-${101 + index}`);
type Result = {
  readonly yards: readonly object[];
  readonly rulings: { readonly cups: readonly { readonly cup: string; readonly ruling: string }[] };
};
const resultOf = ({ code, out, err }: Run): Result => {
  expect(code, err).toBe(0);
  return JSON.parse(out);
};
/** The result, and all that is on record of each cup, with notes, reasons and names. */
async function outcomeOf(day: Steering) {
  const shown = [];
  for (const cup of CUPS) shown.push((await day.run('cup', 'show', cup)).out);
  return { ...resultOf(await day.run(...RESULT)), shown };
}
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
  // By the rules; a person set it aside.
  'C-109': 'valid',
  'C-110': 'valid',
  'C-111': 'valid',
};
const env = { TZ: ZONE, LANG: 'C.UTF-8', LC_ALL: 'C.UTF-8' };

/** A picture that is another than the kept one stays this long before it counts, ms. */
const STILL_MS = 1500;
/** What the computer of the test has, not the day. */
const steady = (screen: string) => screen.replace(/disk \d+ [A-Z]B free/, 'disk 80 GB free');
const fileOf = (size: string, name: string) =>
  fileURLToPath(new URL(`fieldDay/screens/${size}/${name.replaceAll(' ', '-')}.txt`, import.meta.url));

/** What a window shows once that is the kept picture, or does not change any more. */
async function still(window: TmuxWindow, path: string): Promise<string> {
  const kept = existsSync(path) ? readFileSync(path, 'utf8') : null;
  let last = '';
  let since = performance.now();
  await until(`the picture ${path} stands still`, () => {
    const shown = steady(window.shown());
    if (shown !== last) since = performance.now();
    last = shown;
    return shown === kept || performance.now() - since > STILL_MS;
  });
  return last;
}

/** The day at the screen: its result, and the screens that were kept, by name. */
async function byKeys(size: string, columns: number, rows: number, more: Readonly<Record<string, string>>) {
  return inFolder(async (folder) => {
    writeDay(folder, FIELD_DAY);
    const line = [process.execPath, STEERED, BUILD, folder, 'watch', '--by', CREW.first];
    const tmux = tmuxIn(folder);
    try {
      const window = tmux.window(columns, rows, `env -u CI ${line.join(' ')}`, { ...env, ...more });
      const day = await steer(folder);
      await window.shows('> _', 60);
      const screens = new Map<string, string>();
      let coloured = '';
      const type = async (keys: string) => {
        if (keys !== '') window.type(keys.replaceAll('\n', '\r'));
        await day.took(keys.length);
      };
      for (const { time, keys, shows, cable } of FIELD_DAY.steps) {
        await day.to(time);
        if (cable !== undefined) await day.cable(cable);
        const [before = '', after = ''] = keys.split('|');
        await type(before);
        if (shows !== undefined) {
          screens.set(shows, await still(window, fileOf(size, shows)));
          coloured += window.coloured();
        }
        await type(after);
      }
      const result = await outcomeOf(day);
      day.close();
      return { screens, coloured, result };
    } finally {
      tmux.kill();
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
      let by: string = CREW.first;
      for (const step of FIELD_DAY.steps) {
        by = step.by ?? by;
        await day.to(step.time);
        if (step.cable !== undefined) await day.cable(step.cable);
        for (const line of step.commands) {
          const { code, err } = await day.run(...(await numbered(line, day.run)), '--by', by);
          expect(code, `${line.join(' ')}: ${err}`).toBe(0);
        }
      }
      const result = await outcomeOf(day);
      day.close();
      return result;
    } finally {
      child.kill('SIGTERM');
    }
  });
}

type Steering = Awaited<ReturnType<typeof steer>>;

/** A command line with the number of an entry in place of what it is. */
async function numbered(line: readonly string[], run: Steering['run']): Promise<string[]> {
  const number = async (word: string): Promise<string> => {
    const [, what, cup] = /^(load|count) of (.*)$/.exec(word) ?? [];
    if (cup === undefined) return word;
    const { out } = await run('cup', 'show', cup, '--json');
    const type = { load: 'cup-loaded', count: 'cup-counted' }[what as 'load' | 'count'];
    return String(JSON.parse(out).entries.find((entry: { type: string }) => entry.type === type).entry);
  };
  return Promise.all(line.map(number));
}

/** Colours of text and of ground, as terminals take them. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: that is what is looked for
const COLOUR = /\u001b\[(\d+;)*(3|4|9|10)[0-7][;m]/;

/** What a screen says while a form is half typed, and the keys that must still be there. */
const HALF_TYPED = {
  told: [
    ['half typed', /Note something/, 'lid looks lo'],
    ['an alarm while typing', /^ACT NOW/m, 'lid looks lo'],
    ['a lost connection', /^A not read for 3 min/m, 'sunny si'],
    ['connected again', /Note something/, 'sunny si'],
  ],
  isHeld: (screen: string, keys: string) => screen.includes(`\n> ${keys}_`),
} as const;

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
        typed.set(size, await byKeys(size, columns, rows, more)),
      ),
    ]);
  });

  it('by commands: the cups that went cold are ruled out, all others count', () => {
    const { yards, rulings } = commanded;
    expect(yards[0]).toMatchObject({ yard: 'alder-07', cups: { unread: 0, empty: 0 } });
    const said = new Map(rulings.cups.map(({ cup, ruling }) => [cup, ruling]));
    expect(Object.fromEntries(said)).toEqual(RULED);
  });

  describe.each(Object.entries(SIZES))('by keys on a terminal of %s', (size, { isColoured }) => {
    it('has the same result as by commands, and the same on record of each cup, with who entered it', () => {
      expect(typed.get(size)!.result).toEqual(commanded);
      const record = commanded.shown.join('\n');
      for (const name of Object.values(CREW)) expect(record).toContain(`by ${name}`);
    });

    it('holds what is half typed through an alarm and a lost connection, and it is entered', () => {
      const { screens, result } = typed.get(size)!;
      const { told, isHeld } = HALF_TYPED;
      for (const [name, says, keys] of told) {
        expect(screens.get(name), name).toMatch(says);
        expect(isHeld(screens.get(name)!, keys), name).toBe(true);
      }
      const record = result.shown.join('\n');
      expect(record).toContain(': lid looks loose');
      expect(record).toContain(': sunny side of the car');
      // Negative control: it would be found out if it were gone, or if nothing had happened.
      expect(isHeld(screens.get('a warning')!, 'lid looks lo')).toBe(false);
      expect(screens.get('half typed')).not.toMatch(/ACT NOW/);
      expect(screens.get('connected again')).not.toMatch(/not read for/);
    });

    it('shows every screen as it is kept', async () => {
      for (const [name, shown] of typed.get(size)!.screens)
        await expect(shown).toMatchFileSnapshot(fileOf(size, name));
    });

    it(isColoured ? 'is coloured' : 'has no colour when none is wanted', () => {
      expect(COLOUR.test(typed.get(size)!.coloured)).toBe(isColoured);
    });
  });
});
