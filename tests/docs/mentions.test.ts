import { readdirSync, readFileSync } from 'node:fs';
import { Command } from 'commander';
import { beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.js';
import type { Context } from '../../src/cli/context.js';

const PAGES = [
  'README.md',
  'hardware/README.md',
  'hardware/carrier/README.md',
  ...readdirSync('docs')
    .filter((name) => name.endsWith('.md'))
    .map((name) => `docs/${name}`),
];

const commands = new Map<string, Command>();
beforeAll(async () => {
  for (const { name, load } of COMMANDS) {
    const command = new Command(name);
    (await load()).define(command, {} as Context);
    commands.set(name, command);
  }
});

/** What a page writes as code: spans, and lines of blocks without a prompt. */
const codeOf = (page: string): string[] =>
  [...page.matchAll(/^```[a-z]*\n([\s\S]*?)^```|`([^`\n]+)`/gm)].flatMap(([, block, span]) =>
    block === undefined ? [span!] : block.split('\n'),
  );

/** What is wrong with a mention of a command: a part or an option that it does not have; null when nothing. */
function wrongIn(code: string): string | null {
  const line = code.replace(/^(npm run -s stillwarm -- |stillwarm |\$ )+/, '').replace(/\s#.*$/, '');
  // The columns of a printed table are wider apart.
  const words = line.split(' ');
  let command = commands.get(words[0]!);
  // A word alone may be a word of English.
  if (command === undefined || words.length < 2 || !/^[a-z-]/.test(words[1]!)) return null;
  if (command.commands.length > 0 && !words[1]!.startsWith('-')) {
    const part = command.commands.find((each) => each.name() === words[1]);
    if (part === undefined) return `${words[0]} ${words[1]}`;
    command = part;
  }
  const options = new Set(['--help', ...command.options.map(({ long }) => long)]);
  const unknown = [...line.matchAll(/(?:^|[\s[])(--[a-z][a-z0-9-]*)/g)].find(
    ([, option]) => !options.has(option!),
  );
  return unknown ? `${words[0]} ... ${unknown[1]}` : null;
}

describe('a command that a page mentions exists, with its options', () => {
  it.each(PAGES)('%s', (path) => {
    const wrong = codeOf(readFileSync(path, 'utf8')).flatMap((code) => wrongIn(code) ?? []);
    expect(wrong).toEqual([]);
  });

  it('is found out when it does not (negative control)', () => {
    expect(wrongIn('carrier dance --port X')).toBe('carrier dance');
    expect(wrongIn('npm run -s stillwarm -- probe ice --port X --hurry')).toBe('probe ... --hurry');
    expect(wrongIn('carrier check --port X')).toBeNull();
    expect(wrongIn('log')).toBeNull();
  });
});
