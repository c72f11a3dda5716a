import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { whyNot } from '../../tools/debianPrograms.js';

const SOURCES = fileURLToPath(new URL('.', import.meta.url));
const IMAGE = fileURLToPath(new URL('../../../hardware/firmware/image/stillwarm.hex', import.meta.url));

/** Why tests that run simavr are skipped, or null when they run. */
export const WHY_NO_SIMAVR = whyNot('gcc', 'make', '/usr/include/simavr');

/** Options of main.c: simavr without its mends; one rule of the attached models broken on purpose. */
export type Option = '--as-is' | `--wrong=${'crc' | 'sixteenth' | 'memory'}`;

export interface SimavrRun {
  /** What the board sent, each text with the moment of its last byte in milliseconds since power-on. */
  readonly sent: readonly { atMs: number; text: string }[];
  /** When the LED went on or off. */
  readonly led: readonly { atMs: number; isOn: boolean }[];
  /** The pages of the serial memory that are not blank. */
  readonly pages: readonly Uint8Array[];
  /** The other sums that main.c prints. */
  readonly sums: ReadonlyMap<string, number>;
}

/** Compiles the board of this folder. `run()` runs the committed image on it by a script; `remove()` deletes it. */
export function buildSimavrBoard() {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-simavr-'));
  execFileSync('make', ['-s', '-C', SOURCES, `BUILD=${folder}`], { stdio: ['ignore', 'ignore', 'inherit'] });
  return {
    run: (script: string, ...options: Option[]): SimavrRun =>
      read(
        execFileSync(join(folder, 'board'), [IMAGE, ...options], {
          input: script,
          encoding: 'latin1',
          maxBuffer: 100_000_000,
        }),
      ),
    remove: () => rmSync(folder, { recursive: true }),
  };
}

function read(output: string): SimavrRun {
  const sent: { atMs: number; text: string }[] = [];
  const led: { atMs: number; isOn: boolean }[] = [];
  const pages: Uint8Array[] = [];
  const sums = new Map<string, number>();
  for (const line of output.split('\n').slice(0, -1)) {
    const [first = '', second = '', third = '', fourth = ''] = line.split(' ');
    if (first !== '#') sent.push({ atMs: Number(first), text: `${line.slice(first.length + 1)}\n` });
    else if (second === 'led') led.push({ atMs: Number(third), isOn: fourth === '1' });
    else if (second === 'page') pages.push(new Uint8Array(Buffer.from(third, 'hex')));
    else sums.set(second, Number(third));
  }
  return { sent, led, pages, sums };
}
