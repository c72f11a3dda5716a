import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import type { Chance } from '../../../src/units/clock.js';
import { Disk } from './disk.js';
import type { Operation } from './recording.js';

// The driver lets go of a file when its statements are collected.
setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

/** So many moments of a recording. */
export const anywhere = (operations: readonly Operation[], times: number, chance: Chance): number[] =>
  Array.from({ length: times }, () => Math.floor(chance.uniform() * operations.length));

/** The moments up to so many operations after each thing that was said. */
export const soonAfterWords = (operations: readonly Operation[], operationsMax: number): number[] =>
  operations.flatMap(({ does }, index) =>
    does === 'say' ? Array.from({ length: operationsMax }, (_, after) => index + 1 + after) : [],
  );

/**
 * Cuts the power at moments of a recording and counts what is found.
 *
 * @param lossIn what is wrong with the store at a path, given what had been said before; null when nothing is
 */
export function cutPower(
  operations: readonly Operation[],
  moments: readonly number[],
  chance: Chance,
  lossIn: (path: string, said: readonly string[]) => string | null,
): Map<string, number> {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-lost-'));
  const found = new Map<string, number>();
  const disk = new Disk();
  const said: string[] = [];
  let done = 0;
  for (const [index, moment] of [...moments].sort((a, b) => a - b).entries()) {
    for (; done < Math.min(moment, operations.length); done += 1) {
      const operation = operations[done]!;
      disk.take(operation);
      if (operation.does === 'say') said.push(operation.text);
    }
    const place = join(folder, String(index));
    mkdirSync(place);
    for (const [file, bytes] of disk.lose(chance)) writeFileSync(join(place, file), bytes);
    const loss = lossIn(join(place, 'store'), said) ?? 'nothing';
    found.set(loss, (found.get(loss) ?? 0) + 1);
    rmSync(place, { recursive: true });
    if (index % 100 === 99) collect();
  }
  rmSync(folder, { recursive: true });
  collect();
  return found;
}
