import { readFileSync } from 'node:fs';
import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.js';
import type { Context } from '../../src/cli/context.js';

const PAGE = readFileSync('docs/commands.md', 'utf8');
/** Told once at the top of the page, for all commands. */
const COMMON = new Set(['--store', '--json']);

/** What a page leaves out of a command: the command itself, or options of it. */
function missing(command: Command, path: string, page: string): string[] {
  const rows = page.split('\n').filter((row) => row.startsWith('|') && row.includes(`\`${path}`));
  const text = rows.join('\n');
  const parts = command.commands.flatMap((part) => missing(part, `${path} ${part.name()}`, page));
  if (command.commands.length > 0) return parts;
  if (rows.length === 0) return [path];
  return command.options
    .map(({ long }) => long!)
    .filter((option) => !COMMON.has(option) && !text.includes(option))
    .map((option) => `${path} ${option}`);
}

async function defined(name: string): Promise<Command> {
  const command = new Command(name);
  (await COMMANDS.find((each) => each.name === name)!.load()).define(command, {} as Context);
  return command;
}

describe('docs/commands.md', () => {
  it.each(COMMANDS.map(({ name }) => name))('tells every part and option of `%s`', async (name) => {
    expect(missing(await defined(name), name, PAGE)).toEqual([]);
  });

  it('would be found out if it left one out', async () => {
    const shorter = PAGE.replace('--recovery', '');
    expect(missing(await defined('efficacy'), 'efficacy', shorter)).toEqual(['efficacy --recovery']);
    expect(missing(await defined('probe'), 'probe', PAGE.replaceAll('`probe list`', ''))).toEqual([
      'probe list',
    ]);
  });
});
