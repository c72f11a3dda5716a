import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { whyNot } from '../../tools/debianPrograms.js';

const MODEL = fileURLToPath(new URL('../../../hardware/carrier/carrier.scad', import.meta.url));

/** Why tests that render are skipped, or null when they run. */
export const WHY_NO_MODEL = whyNot('openscad');
export const WHY_NO_PICTURE = whyNot('openscad', 'xvfb-run');

/** What stands in for values of the model; words are quoted here. */
export type Settings = Readonly<Record<string, string | number>>;

export interface Rendering {
  readonly file: Buffer | null;
  /** What OpenSCAD said: echoes, warnings, failed assertions. */
  readonly said: string;
}

/** Renders the model in a folder of its own; `ending` says into what (`stl`, `svg`, `png`). */
export function render(ending: string, settings: Settings, options: readonly string[] = []): Rendering {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-carrier-'));
  try {
    const out = join(folder, `out.${ending}`);
    const values = Object.entries(settings).flatMap(([name, value]) => [
      '-D',
      `${name}=${typeof value === 'string' ? `"${value}"` : value}`,
    ]);
    const openscad = ['openscad', '-o', out, ...options, ...values, MODEL];
    const [program, ...rest] = ending === 'png' ? ['xvfb-run', '-a', ...openscad] : openscad;
    const { status, stderr } = spawnSync(program!, rest, { encoding: 'utf8' });
    return { file: status === 0 ? readFileSync(out) : null, said: stderr };
  } finally {
    rmSync(folder, { recursive: true });
  }
}
