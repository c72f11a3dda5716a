import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { fillStore, lifted, SHOWN_AT } from '../screen/invented.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { onTerminalWith } from './onTerminal.js';
import { PROGRAM, start, until } from './program.js';

let folder: string;
let store: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  store = join(folder, 'season.sqlite');
  withStore(fillStore);
});

function withStore(task: (opened: ReturnType<typeof openStoreToWrite>) => void) {
  const opened = openStoreToWrite(store, SHOWN_AT);
  try {
    task(opened);
  } finally {
    opened.close();
  }
}
/** Something happens to a cup. */
const change = () => withStore((opened) => opened.append(SHOWN_AT, lifted('260512-05', 180)));

/** All but the ends of lines that a terminal obeys. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const CONTROL = /[\u0000-\u0009\u000b\u000c\u000e-\u001f\u007f-\u009f]/;

/** Select Graphic Rendition: colour, bold, dim (ECMA-48). */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const COLOUR = /\u001b\[[0-9;]*m/;

describe('watch without a screen', () => {
  it('tells a pipe what is and what changes, and ends with 0 on SIGTERM', async () => {
    const child = start('watch', '--store', store);
    let [out, err] = ['', ''];
    child.stdout!.setEncoding('utf8').on('data', (text: string) => {
      out += text;
    });
    child.stderr!.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    await until('the cups are told', () => /Cup 260512-05.*in slot A:5/.test(out));
    change();
    await until('the change is told', () => /Cup 260512-05.*in no slot/.test(out));
    child.kill('SIGTERM');
    const [code] = await once(child, 'close');
    expect(code).toBe(0);
    expect(err).toMatch(/^Changes are told as sentences, for the passenger - never while driving.*\n$/);
    expect(out).not.toMatch(CONTROL);
    const lines = out.trimEnd().split('\n');
    expect(lines.filter((line) => line.includes('260512-05,') && line.includes('Cup'))).toHaveLength(2);
    expect(new Set(lines).size).toBe(lines.length);
  });

  it.each([
    [
      'an hour ahead of',
      60,
      /^this computer's clock says \S+, which is before the last record \(\S+\): set it/,
    ],
    ['not ahead of (negative control)', 0, /^Changes are told/],
  ])('says at once when the last record is %s this computer’s clock', async (_how, ahead, first) => {
    const at = utcMs(Date.now() + minutes(ahead));
    withStore((opened) => opened.append(at, lifted('260512-05', 180)));
    const child = start('watch', '--store', store);
    let err = '';
    child.stderr!.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    await until('it has begun', () => /Changes are told/.test(err));
    child.kill('SIGTERM');
    await once(child, 'close');
    expect(err).toMatch(first);
  });

  it('ends with 0 and without a word when `head -3` has enough', async () => {
    const line = `'${process.execPath}' '${PROGRAM}' watch --store '${store}' 2>/dev/null | head -3; echo "code=\${PIPESTATUS[0]}"`;
    const shell = spawn('bash', ['-c', line], { stdio: ['ignore', 'pipe', 'pipe'] });
    let [out, err] = ['', ''];
    shell.stdout.setEncoding('utf8').on('data', (text: string) => {
      out += text;
    });
    shell.stderr.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    await until('three lines', () => out.split('\n').length > 3);
    // The pipe is found broken by what is written next.
    change();
    await until('it has ended', () => shell.exitCode !== null, 20);
    expect(out.split('\n')).toHaveLength(5);
    expect(out).toMatch(/code=0\n$/);
    expect(err).toBe('');
  });

  it.skipIf(whyNot('socat'))(
    'prints lines on a dumb terminal, and draws on others, with colours unless NO_COLOR is set',
    async () => {
      const dumb = onTerminalWith({ TERM: 'dumb' }, folder, 'watch', '--store', store);
      await dumb.sees(/Cup 260512-05.*in slot A:5/);
      dumb.type('\u0003');
      expect(await dumb.ended()).toBe(0);
      expect(dumb.shown().replaceAll('\r\n', '\n')).not.toMatch(CONTROL);

      const drawn = onTerminalWith({ TERM: 'xterm' }, folder, 'watch', '--store', store);
      await drawn.sees(/Carrier A/);
      drawn.type('q');
      expect(await drawn.ended()).toBe(0);
      expect(drawn.shown()).toMatch(COLOUR);

      const plain = onTerminalWith({ TERM: 'xterm', NO_COLOR: '1' }, folder, 'watch', '--store', store);
      await plain.sees(/Carrier A/);
      // Without colour the theme for the sun changes nothing: what is pressed after it is drawn.
      plain.type('tf');
      await plain.sees(/\/ °C/);
      plain.type('q');
      expect(await plain.ended()).toBe(0);
      expect(plain.shown()).not.toMatch(COLOUR);
      expect(plain.shown()).toMatch(CONTROL);
    },
  );
});

describe('play without a screen', () => {
  it('tells the morning beside the result, and ends with 1 when it is stopped before', async () => {
    const child = start('play', '--plain', '--speed', '1');
    let [out, err] = ['', ''];
    child.stdout!.setEncoding('utf8').on('data', (text: string) => {
      out += text;
    });
    child.stderr!.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    await until('it is told of the boards', () => err.includes('A never read.'));
    child.kill('SIGINT');
    const [code] = await once(child, 'close');
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toMatch(/Stopped before the end of the scenario: no results\.\n$/);
    expect(err).not.toMatch(CONTROL);
  });
});
