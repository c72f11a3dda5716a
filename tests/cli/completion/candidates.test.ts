import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../../src/cli/commands.js';
import { candidates, type Kind } from '../../../src/cli/completion/candidates.js';
import type { Context } from '../../../src/cli/context.js';
import { programFor } from '../../../src/cli/program.js';

const CONTEXT = { io: { out: () => {}, err: () => {} } } as unknown as Context;
const KNOWN: Readonly<Record<Kind, readonly string[]>> = {
  visit: ['spring-1', 'summer-1'],
  cup: ['C-101', 'C-102'],
  slot: ['A:1', 'A:2'],
  carrier: ['A'],
  probe: ['28-13-9B-BB-0B-00-00-1F'],
};
const complete = async (...words: string[]) => {
  const found = candidates(await programFor(words, CONTEXT), words, (kind) =>
    KNOWN[kind].map((text) => ({ text, about: '' })),
  );
  return found === 'files' ? found : found.map(({ text }) => text);
};

describe('candidates()', () => {
  it('gives every command of the program, and nothing else', async () => {
    expect(await complete('')).toEqual([...COMMANDS.map(({ name }) => name), 'help']);
  });

  it.each<[string, string[], readonly string[] | 'files']>([
    ['commands by their beginning', ['ba'], ['backup']],
    ['parts of a command', ['visit', 'o'], ['open']],
    ['options by their beginning', ['watch', '--pl'], ['--plain', '--plan']],
    ['the choices of an option', ['cup', 'count', 'C-101', '--dead', ''], ['none', 'some', 'most']],
    ['cups where a cup is wanted', ['cup', 'turn', ''], ['C-101', 'C-102']],
    ['cups after --cup', ['cup', 'turn', '--cup', 'C-102'], ['C-102']],
    ['slots as the second word', ['cup', 'seat', 'C-101', 'A:'], ['A:1', 'A:2']],
    [
      'slots also behind an option with a value',
      ['cup', 'seat', '--by', 'Rika', 'C-101', ''],
      ['A:1', 'A:2'],
    ],
    ['visits', ['visit', 'result', 'sp'], ['spring-1']],
    ['probes', ['probe', 'assign', 'A:1', ''], ['28-13-9B-BB-0B-00-00-1F']],
    ['carriers', ['carrier', 'show', ''], ['A']],
    ['files, left to the shell', ['judge', '--readings', ''], 'files'],
    ['plans, which are files', ['plan', 'sheet', 'p'], 'files'],
    ['stores, which are files', ['cup', 'turn', '--store', 'x'], 'files'],
    ['no name where a new one is given', ['cup', 'load', ''], []],
    ['no visit where one is opened', ['visit', 'open', ''], []],
    ['no new label of a cup', ['cup', 'replace', 'C-101', '--with', ''], []],
    ['nothing behind all arguments', ['cup', 'turn', 'C-101', ''], []],
    ['nothing for words that nobody knows', ['cup', 'load', 'C-1', '--colony', ''], []],
    ['nothing for a command there is not', ['nonsense', 'x'], []],
  ])('gives %s', async (_what, words, expected) => {
    expect(await complete(...words)).toEqual(expected);
  });

  it('gives every option that the help of a command shows, of every command', async () => {
    for (const { name } of COMMANDS) {
      const program = await programFor([name], CONTEXT);
      const leaves = (command: Command, path: string[]): [Command, string[]][] =>
        command.commands.length === 0
          ? [[command, path]]
          : command.commands.flatMap((part) => leaves(part, [...path, part.name()]));
      for (const [command, path] of leaves(program.commands.find((each) => each.name() === name)!, [name])) {
        const found = candidates(program, [...path, '--'], () => []);
        const shown = [...command.helpInformation().matchAll(/^ {2}(?:-\w, )?(--[\w-]+)/gm)].map(
          ([, long]) => long,
        );
        expect(shown.length, path.join(' ')).toBeGreaterThan(0);
        expect(found === 'files' ? found : found.map(({ text }) => text), path.join(' ')).toEqual(shown);
      }
    }
  });

  it('finds a command that was added a moment ago, for it keeps no list of its own', () => {
    const program = new Command('x');
    program.command('fresh').option('--new-one');
    const texts = (words: string[]) => candidates(program, words, () => []);
    expect(texts(['fr'])).toMatchObject([{ text: 'fresh' }]);
    expect(texts(['fresh', '--n'])).toMatchObject([{ text: '--new-one' }]);
  });
});
