import { fileURLToPath } from 'node:url';
import { stripVTControlCharacters } from 'node:util';
import { beforeAll, describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { type Look, lettersOf, withMarks } from '../tools/looks.js';
import { type TmuxWindow, tmuxIn } from '../tools/tmux.js';
import { ZONE } from './fieldDay/day.js';
import { EARLY_DAY } from './fieldDay/earlyDay.js';
import { BUILD, STEERED, steer, writeDay } from './fieldDay/steering.js';
import { inFolder, until } from './program.js';

const fileOf = (name: string) => fileURLToPath(new URL(`fieldDay/screens/${name}.txt`, import.meta.url));
/** What the computer of the test has, not the day. */
const steady = (screen: string) => screen.replace(/disk \d+ [A-Z]B free/, 'disk 80 GB free');
const SIZES = [
  { columns: 80, rows: 24 },
  { columns: 120, rows: 40 },
  { columns: 60, rows: 20 },
] as const;

/** One moment of the day, as it was drawn in each size, and in the sun; time stands still meanwhile. */
interface Shown {
  /** Plain text by size, as 80x24. */
  readonly screens: ReadonlyMap<string, string>;
  /** Of 80 x 24, with the codes of its colours. */
  readonly coloured: string;
  readonly inTheSun: string;
  /** Some minutes later, with the codes of its colours: cups in several states, an alarm that was seen, and a new one. */
  readonly states: string;
}

/** One cup is spoiled, another sits where there is no probe. */
const LATER = {
  time: '07:31',
  shown: '07:32',
  commands: [
    ['cup', 'spoil', 'C-105', '--why', 'lid came off'],
    ['cup', 'load', 'C-106', '--colony', '6', '--slot', 'A:13'],
  ],
  says: [
    /^stillwarm.* 07:32:00 /,
    / 5 . C-105 .*spoiled/,
    /^ACT NOW slot A:13 no probe/m,
    /^seen +slot A:3/m,
    /^A read 9 s ago/m,
  ],
};

async function shownWith(env: Readonly<Record<string, string>>): Promise<Shown> {
  return inFolder(async (folder) => {
    writeDay(folder, EARLY_DAY);
    const tmux = tmuxIn(folder);
    try {
      const line = ['env', '-u', 'CI', process.execPath, STEERED, BUILD, folder, 'watch'].join(' ');
      const window = tmux.window(80, 24, line, { TZ: ZONE, LANG: 'C.UTF-8', ...env });
      const day = await steer(folder);
      await window.shows('> _', 60);
      for (const { time, commands } of EARLY_DAY.steps) {
        await day.to(time);
        for (const command of commands) expect((await day.run(...command)).err).not.toMatch(/refused|cannot/);
      }
      const screens = new Map<string, string>();
      let coloured = '';
      for (const { columns, rows } of SIZES) {
        window.resize(columns, rows);
        screens.set(`${columns}x${rows}`, steady(await still(window, columns)));
        if (columns === 80) coloured = window.coloured();
      }
      window.resize(80, 24);
      await still(window, 80);
      window.type('t');
      await until(
        'the theme for the sun',
        () => env['NO_COLOR'] === '1' || window.coloured().includes('107'),
      );
      const inTheSun = steady(window.coloured());
      window.type('t+');
      await day.to(LATER.time);
      for (const command of LATER.commands) expect((await day.run(...command)).code).toBe(0);
      await day.to(LATER.shown);
      for (const each of LATER.says) await window.shows(each, 20);
      const states = steady(window.coloured());
      day.close();
      return { screens, coloured, inTheSun, states };
    } finally {
      tmux.kill();
    }
  });
}

/** What a window shows once it is drawn for its width: the clock stands at its right end. */
async function still(window: TmuxWindow, columns: number): Promise<string> {
  await until(`the screen ${columns} wide`, () => {
    const first = window.shown().split('\n')[0] ?? '';
    return first.length === columns && first.endsWith('logging') && window.shown().includes('> _');
  });
  return window.shown();
}

describe.skipIf(whyNot('tmux'))(`a warning in the first half hour ${whyNot('tmux') ?? ''}`, () => {
  let plain: Shown;
  let coloured: Shown;
  beforeAll(async () => {
    [coloured, plain] = await Promise.all([shownWith({}), shownWith({ NO_COLOR: '1' })]);
  });

  it.each(SIZES)('says what to do at $columns x $rows, as it is kept', async ({ columns, rows }) => {
    const size = `${columns}x${rows}`;
    const shown = coloured.screens.get(size)!;
    expect(shown).toMatch(/^ACT NOW slot A:3 lost to cold: replace it while still here/m);
    await expect(shown).toMatchFileSnapshot(fileOf(`${size}/an-early-warning`));
  });

  it.each(SIZES)('says the same without colour at $columns x $rows', ({ columns, rows }) => {
    const size = `${columns}x${rows}`;
    expect(plain.screens.get(size)).toBe(coloured.screens.get(size));
  });

  it('tells states, alarms and what was seen apart by shape and word alone, as it is kept', async () => {
    const words = (screen: string) => stripVTControlCharacters(screen).replaceAll(/ +$/gm, '');
    expect(words(plain.states)).toBe(words(coloured.states));
    // Not a single code, neither of colours nor of bold or pale letters.
    expect(plain.states).toBe(words(plain.states));
    // Negative control.
    expect(coloured.states).not.toBe(words(coloured.states));
    for (const row of [
      /^ 1 ○ .* warm /m,
      /^ 3 × .* ruled out /m,
      /^ 5 \/ .* spoiled/m,
      /^ACT NOW slot A:13 no probe/m,
      /^seen +slot A:3 lost/m,
    ])
      expect(plain.states).toMatch(row);
    await expect(plain.states).toMatchFileSnapshot(fileOf('80x24/without-colour'));
  });

  it('has no colour and no other look when none is wanted, and has when it is', () => {
    const looks = (screen: string) =>
      new Set(lettersOf(screen).flatMap((line) => line.map(({ look }) => JSON.stringify(look))));
    expect(looks(plain.coloured).size).toBe(1);
    expect(looks(plain.inTheSun).size).toBe(1);
    expect(looks(coloured.coloured).size).toBeGreaterThan(3);
  });

  it('is black on white in the sun, with nothing pale, as it is kept', async () => {
    const grounds = (look: Look) => `${look.colour} on ${look.ground}`;
    const letters = lettersOf(coloured.inTheSun).flat();
    // 30 on 107 is black on bright white, 97 on 40 the other way round: ECMA-48, aixterm's bright colours.
    expect(new Set(letters.map(({ look }) => grounds(look)))).toEqual(new Set(['30 on 107', '97 on 40']));
    expect(letters.some(({ look }) => look.isDim)).toBe(false);
    // Negative control: the theme for the shade has both.
    const shade = lettersOf(coloured.coloured).flat();
    expect(shade.some(({ look }) => look.isDim)).toBe(true);
    expect(shade.some(({ look }) => look.colour === 31)).toBe(true);
    await expect(withMarks(coloured.inTheSun)).toMatchFileSnapshot(fileOf('80x24/in-the-sun'));
  });
});
