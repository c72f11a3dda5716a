import { spawn } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { eachInNewFolder } from '../tools/newFolder.js';

/** The built program, as it runs outside the tests. */
const BUILT = new URL('../../.build/src/', import.meta.url);

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

const from = (name: string) => JSON.stringify(new URL(name, BUILT).href);
const SCREEN = `
  import { runScreen } from ${from('screen/runScreen.js')};
  import { openStoreToWrite } from ${from('store/store.js')};
  import { systemClock } from ${from('units/clock.js')};
  const store = openStoreToWrite(process.argv[2], systemClock.utc());
  const how = await runScreen({ store, now: systemClock.utc, clock: systemClock, title: 'stillwarm',
    entry: { zone: 'UTC', who: null }, results: () => [], finished: () => false, stdin: process.stdin, stdout: process.stdout, env: process.env });
  console.log('printed after the screen');
  store.close();
  process.exitCode = how === 'quit' ? 7 : 1;
`;

it('runScreen() quits in order when its terminal hangs up', async () => {
  const [program, code, errors] = ['screen.mjs', 'code', 'errors'].map((name) => join(folder, name)) as [
    string,
    string,
    string,
  ];
  writeFileSync(program, SCREEN);
  // The shell stays to tell the exit code; the screen hears the hang-up all the same.
  const line = `trap '' HUP; "$NODE" "$PROGRAM" "$STORE" 2>"$ERRORS"; echo $? >"$CODE"`;
  const terminal = spawn('script', ['-qefc', line, '/dev/null'], {
    env: {
      ...process.env,
      SHELL: '/bin/sh',
      TERM: 'xterm',
      NODE: process.execPath,
      PROGRAM: program,
      STORE: join(folder, 'season.sqlite'),
      ERRORS: errors,
      CODE: code,
    },
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  let shown = '';
  terminal.stdout.on('data', (data) => {
    shown += String(data);
  });
  await expect.poll(() => shown, { timeout: 20_000 }).toContain('No carrier has a probe or a cup yet.');
  terminal.kill('SIGKILL');
  await expect.poll(() => existsSync(code) && readFileSync(code, 'utf8'), { timeout: 20_000 }).toBe('7\n');
  // A stack trace, Node's own or native, would stand here.
  expect(readFileSync(errors, 'utf8').replaceAll('\u001b[?25h', '')).toBe('');
});
