import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.js';
import { EXIT } from '../../src/cli/main.js';
import { programFor } from '../../src/cli/program.js';
import { openStoreToRead } from '../../src/store/store.js';
import { systemClock } from '../../src/units/clock.js';
import { inFolder } from '../end-to-end/program.js';
import { oneCup } from './oneCup.js';
import { run } from './run.js';

/** What is missing, or does not go together, and what is said of it. */
const WRONG: readonly (readonly [line: string, says: string])[] = [
  ['cup load', 'Say which cup'],
  ['cup load --colony 7', 'Say which cup'],
  ['cup load c2 --cup c3', 'Two cups are named'],
  ['cup seat', 'Say which cup'],
  ['cup seat c1', 'Say which slot'],
  ['cup move --cup c1', 'Say which slot'],
  ['cup lift', 'Say which cup'],
  ['cup turn', 'Say which cup'],
  ['cup show', 'Say which cup'],
  ['cup count', 'Say which cup'],
  ['cup count c1', 'Give at least one of --tray'],
  ['cup count c1 --bees 300 --bees-how weighed', 'give --bees-cv'],
  ['cup count c1 --bees 300 --bees-cv 10', 'say which with --bees-how'],
  ['cup spoil c1', '--why'],
  ['cup spoil --why wet', 'Say which cup'],
  ['cup replace c1 --why cold', '--with'],
  ['cup replace --why cold --with c2', 'Say which cup'],
  ['cup note --text wet', 'Say which cup'],
  ['cup overrule c1 valid', '--why'],
  ['cup overrule c1 --why wet', 'ruling'],
  ['cup correct c1 --why slip', '--entry'],
  ['cup correct c1 --why slip --entry 3', 'Say what is right: give at least one of --time'],
  ['cup withdraw --entry 3 --why slip', 'Say which cup'],
  ['visit open v2', '--yard'],
  ['visit result', 'visit'],
  ['carrier pair B', 'Give the id of a board'],
  ['carrier pair B 0A1B2C3D --emulate', 'Give the id of a board'],
  ['carrier check', 'Give either --port, or --emulate'],
  ['carrier check --port /dev/null --fault short', '--fault is for --emulate'],
  ['carrier settings --port /dev/null --emulate', 'Give either --port, or --emulate'],
  ['sync', 'Give --port once for each board'],
  ['sync --fault short', '--fault is for --emulate'],
  ['sync --port /dev/null --emulate', 'Give either --port or --emulate'],
  ['probe warm', 'give --slot once for each probe'],
  ['probe map', 'give the minutes with --bath'],
  ['probe lag --port /dev/null --emulate lag', 'Give either a source'],
  ['log', 'give either sources'],
  ['log --emulate practice --record r.jsonl', '--record goes with sources'],
  ['export --format parquet', 'name it with --out'],
  ['export --json', 'with --out'],
  ['report beekeeper', '--visit'],
  [
    'report beekeeper --visit v1 --action-level 3',
    'give --action-level, --action-source and --action-date together',
  ],
  ['bundle write --visit v1', '--out'],
  ['mirror setup http://localhost:1', '--database'],
  ['judge --readings r.csv', '--exposures'],
  ['efficacy', '--counts'],
  ['backup', '--out'],
  ['restore', '--from'],
  ['replay', 'file'],
];
/** Nothing is missing; the store or the value will not do. */
const REFUSED: readonly (readonly [line: string, says: string])[] = [
  ['cup load c1', 'No visit is open'],
  ['cup seat c1 A:99', 'is not a slot'],
  ['cup turn c9', 'There is no cup c9'],
  ['cup count c1 --tray many', 'is not a count'],
  ['cup correct c1 --why slip --entry 99 --time 09:40', 'has no entry 99'],
  ['carrier pair B nonsense', 'copy it from carrier list'],
  ['export --from 2026-05-13T00:00:00Z --to 2026-05-12T00:00:00Z', 'is later than --to'],
];
const words = (line: string) => line.split(' ');
const withStore = (line: string, store: string) =>
  /^(judge|efficacy|carrier settings)/.test(line) ? words(line) : [...words(line), '--store', store];

/** The end of the chain of facts. */
function headOf(path: string) {
  const store = openStoreToRead(path);
  try {
    return store.head();
  } finally {
    store.close();
  }
}

describe('a command line', () => {
  it('that misses something, or whose options do not go together, ends with 2 and leaves the store as it is', () =>
    inFolder(async (folder) => {
      const store = await oneCup(folder);
      const before = headOf(store);
      for (const [line, says] of WRONG) {
        const { code, out, err } = await run(withStore(line, store));
        expect({ line, code, out }, err).toEqual({ line, code: EXIT.usage, out: '' });
        expect(err.replaceAll(/\s+/g, ' '), line).toContain(says);
      }
      expect(headOf(store)).toEqual(before);
      // Nor is one made.
      const none = join(folder, 'none.sqlite');
      for (const line of ['cup load', 'cup seat c1', 'cup count c1', 'cup correct c1 --entry 3 --why slip'])
        await run(withStore(line, none));
      expect(existsSync(none)).toBe(false);
    }));

  it('that is whole, with a value that will not do, ends with 1', () =>
    inFolder(async (folder) => {
      const store = await oneCup(folder);
      for (const [line, says] of REFUSED) {
        const { code, err } = await run(withStore(line, store));
        expect({ line, code }, err).toEqual({ line, code: EXIT.refused });
        expect(err.replaceAll(/\s+/g, ' '), line).toContain(says);
      }
    }));
});

describe('every command that takes a cup', () => {
  let lines: string[];
  beforeAll(async () => {
    const io = { out: () => {}, err: () => {} };
    const found: string[] = [];
    const walk = (command: Command, name: string) => {
      if (command.commands.length === 0 && command.options.some(({ long }) => long === '--cup'))
        found.push(name);
      for (const each of command.commands) walk(each, `${name} ${each.name()}`);
    };
    for (const { name } of COMMANDS) {
      const program = await programFor([name], { io, clock: systemClock });
      walk(program.commands.find((each) => each.name() === name)!, name);
    }
    lines = found;
  });

  it('ends with 2 when nothing else is given', async () => {
    expect(lines).toContain('cup load');
    expect(lines.length).toBeGreaterThan(10);
    await inFolder(async (folder) => {
      const store = await oneCup(folder);
      for (const line of lines) {
        const { code, err } = await run([...words(line), '--store', store]);
        expect({ line, code }, err).toEqual({ line, code: EXIT.usage });
      }
    });
  });
});
