import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const BUILD = fileURLToPath(new URL('../../.build', import.meta.url));
const WRITER = fileURLToPath(new URL('failedSync/writer.mjs', import.meta.url));

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

/** What the writer says and which of its files are synced meanwhile, in order; `failing` is which sync the disk refuses, `5+` all from there on. */
function run(failing: string | null): string[] {
  const [trace, path] = [join(folder, `trace-${failing}`), join(folder, `x-${failing}`)];
  const refused = failing === null ? [] : ['-e', `inject=fsync,fdatasync:error=EIO:when=${failing}`];
  const traced = ['-qq', '-y', '-e', 'trace=fsync,fdatasync,write', ...refused, '-o', trace];
  execFileSync('strace', [...traced, process.execPath, WRITER, BUILD, path], { stdio: 'ignore' });
  return readFileSync(trace, 'latin1')
    .split('\n')
    .flatMap((line) => {
      const said = /^write\(1<.*?>, "(.*?)\\n"/.exec(line);
      if (said !== null) return [said[1]!];
      if (!/^f(data)?sync/.test(line)) return [];
      const what = line.includes(`${path}-wal>`)
        ? 'sync wal'
        : line.includes(`${path}>`)
          ? 'sync file'
          : 'sync';
      return [line.includes('EIO') ? `${what} fails` : what];
    });
}
const after = (lines: readonly string[]) => lines.slice(lines.indexOf('written') + 1);
const syncsBefore = (lines: readonly string[]) =>
  lines.slice(0, lines.indexOf('written')).filter((line) => line.startsWith('sync')).length;

describe.skipIf(whyNot('strace'))(`a commit that is synced ${whyNot('strace') ?? ''}`, () => {
  it('makes what was written before durable, by a sync, even if its own values were there already', () => {
    expect(after(run(null)).slice(0, 2)).toEqual(['sync wal', 'committed durable']);
  });

  it('makes nothing durable when its sync fails, nor does a later one before all is written to the file anew', () => {
    const told = after(run(`${syncsBefore(run(null)) + 1}`));
    expect(told.slice(0, 2)).toEqual(['sync wal fails', 'disk-error waiting']);
    const next = told.indexOf('committed durable');
    expect(told.slice(2, next)).toContain('sync file');
    expect(told.slice(2, next).at(-1)).toBe('sync wal');
  });

  it('is refused while that fails, too', () => {
    const told = after(run(`${syncsBefore(run(null)) + 1}+`));
    expect(told.filter((line) => !line.startsWith('sync'))).toEqual(Array(3).fill('disk-error waiting'));
  });
});
