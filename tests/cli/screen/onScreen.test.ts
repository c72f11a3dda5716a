import { readFileSync } from 'node:fs';
import type { Command } from 'commander';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Context } from '../../../src/cli/context.js';
import { programFor } from '../../../src/cli/program.js';
import { CLEAR_DESK, press } from '../../../src/screen/entry/desk.js';
import { MENU, SETTINGS } from '../../../src/screen/entry/menu.js';
import { KNOWN_EMPTY } from '../../screen/views.js';

/** What keys do that belong to one screen, and how a command line has it; null where there is nothing it could do. */
const KEYS: Readonly<Record<string, string | null>> = {
  unit: 'watch --fahrenheit',
  theme: 'watch --sun',
  mute: 'watch --muted',
  // Of the bell of this screen: no command rings.
  acknowledge: null,
  'turn-page': null,
  quit: null,
};
/** Commands that tell and change nothing; the screen shows as much by itself. */
const TELLING = ['cup list', 'cup show', 'visit list'];

let programs: ReadonlyMap<string, Command>;
beforeAll(async () => {
  const context = { io: { out: () => {}, err: () => {} } } as unknown as Context;
  const one = async (name: string) =>
    [name, (await programFor([name], context)).commands.find((c) => c.name() === name)!] as const;
  programs = new Map(await Promise.all(['cup', 'visit', 'watch'].map(one)));
});

/** What of a command there is not: itself, its option, or `--json`. */
function missing(line: string, isEntry: boolean): string[] {
  const [name, ...rest] = line.split(' ');
  const option = rest.find((word) => word.startsWith('--'));
  const part = rest.find((word) => !word.startsWith('--'));
  const root = programs.get(name!);
  const command = part === undefined ? root : root?.commands.find((each) => each.name() === part);
  if (command === undefined) return [line];
  const has = (long: string) => command.options.some((each) => each.long === long);
  return [...(isEntry ? ['--json'] : []), ...(option === undefined ? [] : [option])]
    .filter((long) => !has(long))
    .map((long) => `${line}: ${long}`);
}

/** The commands of cups and visits that no entry of the list names. */
function unnamed(menu: readonly { readonly commands: readonly string[] }[]): string[] {
  const named = new Set(
    menu.flatMap(({ commands }) => commands.map((line) => line.split(' ').slice(0, 2).join(' '))),
  );
  return ['cup', 'visit']
    .flatMap((name) => programs.get(name)!.commands.map((part) => `${name} ${part.name()}`))
    .filter((line) => !named.has(line) && !TELLING.includes(line));
}

const rows = (menu = MENU) =>
  menu.map(
    ({ name, commands }, index) =>
      `| ${index + 1} ${name} | ${commands.map((line) => `\`${line}\``).join(', ')} |`,
  );

describe('what the screen does', () => {
  it('can be done with commands, each with --json', () => {
    for (const { name, commands } of MENU) expect(commands.length, name).toBeGreaterThan(0);
    expect(MENU.flatMap(({ commands }) => commands.flatMap((line) => missing(line, true)))).toEqual([]);
  });

  it('is all that commands record of cups and visits', () => {
    expect(unnamed(MENU)).toEqual([]);
  });

  it('would be found out if either had more than the other', () => {
    expect(missing('cup dance', true)).toEqual(['cup dance']);
    expect(missing('cup count --legs', true)).toEqual(['cup count --legs: --legs']);
    expect(missing('watch', true)).toEqual(['watch: --json']);
    expect(unnamed(MENU.filter(({ name }) => name !== 'lift'))).toEqual(['cup lift']);
  });

  it('has an option for each key that changes the screen', () => {
    const typed = Array.from({ length: 94 }, (_, index) => String.fromCharCode(33 + index));
    const acts = new Set(
      typed.flatMap((letter) => press(CLEAR_DESK, { typed: letter }, KNOWN_EMPTY).act?.does ?? []),
    );
    expect([...acts].sort()).toEqual(Object.keys(KEYS).sort());
    expect(Object.values(KEYS).flatMap((line) => (line === null ? [] : missing(line, false)))).toEqual([]);
  });

  it('stands row by row in docs/commands.md', () => {
    const page = readFileSync('docs/commands.md', 'utf8');
    expect(rows().filter((row) => !page.includes(row))).toEqual([]);
    for (const [index, { name }] of SETTINGS.entries())
      expect(page).toContain(`| ${MENU.length + 1 + index} ${name} |`);
    expect(rows([{ ...MENU[0]!, name: 'other' }]).every((row) => page.includes(row))).toBe(false);
  });
});
