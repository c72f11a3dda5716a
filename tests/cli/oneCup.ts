import { join } from 'node:path';
import { expect } from 'vitest';
import { cautionAt } from '../../src/cli/safety.js';
import { run } from './run.js';

// ROM id that checks: published clone report, CC BY (reference/sensing.md 1.2)
export const ROM = '28-13-9B-BB-0B-00-00-1F';

/** A visit of one cup, told line by line; gives the store. */
export async function oneCup(folder: string): Promise<string> {
  const store = join(folder, 'season.sqlite');
  const lines = [
    ['visit', 'open', 'v1', '--yard', 'alder-07', '--zone', 'Etc/UTC', '--at', '2026-05-12T09:00:00Z'],
    ['probe', 'assign', 'A:1', ROM, '--at', '2026-05-12T09:00:00Z'],
    ['cup', 'load', 'c1', '--colony', '7', '--at', '2026-05-12T09:05:00Z'],
    ['cup', 'seat', 'c1', 'A:1', '--at', '2026-05-12T09:07:00Z'],
    ['cup', 'lift', 'c1', '--at', '2026-05-12T10:00:00Z'],
    ['cup', 'seat', 'c1', 'A:1', '--at', '2026-05-12T10:02:00Z'],
    ['cup', 'move', 'c1', 'A:2', '--at', '2026-05-12T11:00:00Z'],
    ['cup', 'turn', 'c1', '--at', '2026-05-12T14:06:00+02:00'],
    ['cup', 'count', 'c1', '--tray', '7', '--wash', '3', '--bees', '310', '--at', '2026-05-12T12:30:00Z'],
    ['visit', 'close', 'v1', '--at', '2026-05-12T13:00:00Z'],
  ];
  for (const line of lines) {
    const { code, err } = await run([...line, '--store', store]);
    const unsaid = [cautionAt('visit'), cautionAt('wash')].reduce(
      (text, caution) => text.replace(`${caution}\n`, ''),
      err,
    );
    expect({ line, code, err: unsaid.replace(/^slot A:2 has no probe.*\n/, '') }).toEqual({
      line,
      code: 0,
      err: '',
    });
  }
  return store;
}
