import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { SHELLS } from '../../../src/cli/completion/shells.js';
import { openStoreToWrite } from '../../../src/store/store.js';
import { PROGRAM } from '../../end-to-end/program.js';
import { loaded, probeAssigned, SEVEN, visitOpened } from '../../screen/invented.js';
import { whyNot } from '../../tools/debianPrograms.js';
import { allInNewFolder } from '../../tools/newFolder.js';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
  mkdirSync(join(folder, 'bin'));
  const program = join(folder, 'bin', 'stillwarm');
  writeFileSync(program, `#!/bin/sh\nexec '${process.execPath}' '${PROGRAM}' "$@"\n`);
  chmodSync(program, 0o755);
  const store = openStoreToWrite(join(folder, 'stillwarm.sqlite'), SEVEN);
  store.append(SEVEN, visitOpened(), probeAssigned('A', 2), probeAssigned('A', 3), loaded('260512-01', 1));
  store.close();
  for (const [shell, script] of Object.entries(SHELLS)) writeFileSync(join(folder, shell), script);
});

/** What a shell prints, run in a folder with a store, with the program in its path. */
function run(shell: string, ...args: string[]): string {
  const { stdout, stderr } = spawnSync(shell, args, {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, HOME: folder, PATH: `${join(folder, 'bin')}${delimiter}${process.env['PATH']}` },
  });
  return stdout + stderr;
}

/** Each asks the program once. */
const LINES = ['cup turn ', 'cup seat 260512-01 A:', 'judge --readings fi'] as const;

/** Calls the completion as readline does, with colons among what breaks words, as bash has them. */
const inBash = (file: string, ...lines: readonly string[]) =>
  run(
    'bash',
    '--norc',
    '-c',
    `source ./${file}
COMP_WORDBREAKS=$' \\t\\n"\\'><=;|&(:'
for COMP_LINE in "$@"; do COMP_POINT=\${#COMP_LINE}; _stillwarm; echo "\${COMPREPLY[*]}"; done`,
    'bash',
    ...lines.map((line) => `stillwarm ${line}`),
  ).split('\n');

describe('SHELLS', () => {
  it('completes in bash: cups, slots behind their colon, files', () => {
    expect(inBash('bash', ...LINES)).toEqual(['260512-01', '2 3', 'fish', '']);
  });

  it('would be found out if the script asked for the wrong thing', () => {
    writeFileSync(join(folder, 'broken'), SHELLS.bash.replace('completion words', 'completion word'));
    expect(inBash('broken', LINES[0])).toEqual(['', '']);
  });

  it('is taken on by bash as the completion of the program', () => {
    expect(run('bash', '--norc', '-c', 'source ./bash && complete -p stillwarm')).toBe(
      'complete -F _stillwarm stillwarm\n',
    );
  });

  it.skipIf(whyNot('zsh'))('completes in zsh, with what each word is', () => {
    const lines = run(
      'zsh',
      '-f',
      '-c',
      `autoload -Uz compinit && compinit -u -D && source ./zsh
compadd() { print -rl -- $shown }
words=(stillwarm cup seat 260512-01 A:); CURRENT=5; _stillwarm
print -r -- $_comps[stillwarm]`,
    ).split('\n');
    expect(lines).toEqual([
      expect.stringMatching(/^A:2 {2}28-/),
      expect.stringMatching(/^A:3 {2}28-/),
      '_stillwarm',
      '',
    ]);
  });

  it.skipIf(whyNot('fish'))('completes in fish, with what each word is', () => {
    const asked = LINES.map((line) => `complete -C 'stillwarm ${line}'`).join('; ');
    const lines = run('fish', '--no-config', '-c', `source ./fish; ${asked}`).split('\n');
    expect(lines.map((line) => line.split('\t'))).toEqual([
      ['260512-01', 'colony c01, in no slot'],
      ['A:2', expect.stringMatching(/^28-/)],
      ['A:3', expect.stringMatching(/^28-/)],
      ['fish'],
      [''],
    ]);
  });
});
