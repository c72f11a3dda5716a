import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { type Tmux, type TmuxWindow, tmuxIn } from '../tools/tmux.js';
import { inFolder, until } from './program.js';
import { SETTINGS, standingLogger, WATCH, watched } from './standingLogger.js';

const SIZE = { columns: 80, rows: 24 };
const OPEN = '15\r\ralder-07\r\r\r3\r\r';
const LOAD = '1\rC-101\r\rc1\r1\r\r';
const TIMEOUT_MS = 120_000;
const reason = whyNot('tmux');

async function onTerminals(
  task: (logger: ReturnType<typeof standingLogger>, tmux: Tmux, folder: string) => Promise<void>,
): Promise<void> {
  await inFolder(async (folder) => {
    const logger = standingLogger(folder);
    const tmux = tmuxIn(folder);
    try {
      await task(logger, tmux, folder);
    } finally {
      tmux.kill();
      logger.stop();
    }
  });
}

describe.skipIf(reason !== null)(`the screen on terminals${reason === null ? '' : ` (${reason})`}`, () => {
  it(
    'shows the same on two at once, with colour and without, and when it is opened again',
    () =>
      onTerminals(async (_logger, tmux) => {
        const window = await watched(tmux, SIZE);
        const other = await watched(tmux, SIZE, { NO_COLOR: '1' });
        window.type(OPEN);
        await window.shows('Recorded: Open visit');
        window.type(LOAD);
        await window.shows('Recorded: Load C-101');
        window.type('*');
        const agree = (one: TmuxWindow, two: TmuxWindow) =>
          until('both show the same', () => one.shown() === two.shown(), 10).catch((error: Error) => {
            throw new Error(`${error.message}:\n${one.shown()}\n${two.shown()}`);
          });
        await other.shows('C-101');
        await agree(window, other);
        // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are control sequences
        const colours = /\u001b\[[\d;]*m/;
        expect(other.coloured()).not.toMatch(colours);
        expect(window.coloured()).toMatch(colours);
        other.type('q');
        const again = await watched(tmux, SIZE);
        await agree(window, again);
        expect(again.shown()).toContain('C-101');
      }),
    TIMEOUT_MS,
  );

  it(
    'loses no key at 50 keys a second',
    () =>
      onTerminals(async (logger, tmux) => {
        const window = await watched(tmux, SIZE);
        const label = Array.from({ length: 60 }, (_, i) => String.fromCharCode(65 + ((i * 7) % 26))).join('');
        // In fives every tenth of a second, which is harder than evenly, while the picture changes.
        for (let from = 0; from < label.length; from += 5) {
          window.type(label.slice(from, from + 5));
          logger.goTo(6 + from / 60);
          await new Promise((resolve) => setTimeout(resolve, 100));
        }
        await window.shows(`> ${label}_`);
        window.type('\r');
        await window.shows('is neither a number');
      }),
    TIMEOUT_MS,
  );

  it(
    'keeps what is half typed in a form when an alarm comes',
    () =>
      onTerminals(async (logger, tmux) => {
        const window = await watched(tmux, SIZE);
        window.type(OPEN);
        await window.shows('Recorded: Open visit');
        window.type('1\rC-101\r\rc1\r\r\r');
        await window.shows('Recorded: Load C-101');
        window.type('*11\r1\rsunny side of th');
        await window.shows('> sunny side of th_');
        expect(window.shown()).not.toContain('ACT NOW');
        logger.goTo(16);
        await window.shows('ACT NOW cup C-101 not seated');
        expect(window.shown()).toContain('> sunny side of th_');
        // Negative control: on a screen that began anew it is gone.
        expect((await watched(tmux, SIZE)).shown()).not.toContain('sunny side');
        window.type('e car\r\r');
        await window.shows('Recorded: Note on C-101: sunny side of the car');
      }),
    TIMEOUT_MS,
  );

  it(
    'gives the terminal back on q, Ctrl-C, SIGTERM and an uncaught error',
    () =>
      onTerminals(async (_logger, tmux, folder) => {
        const thrower = join(folder, 'thrower.mjs');
        writeFileSync(
          thrower,
          `process.on('SIGUSR2', () => { throw new Error('thrown on purpose, caught by nobody'); });\n`,
        );
        const window = tmux.window(SIZE.columns, SIZE.rows, 'sh', {
          ...SETTINGS,
          PS1: '$ ',
          NODE_OPTIONS: `--import=${thrower}`,
        });
        const settings = (name: string) => readFileSync(join(folder, name), 'utf8');
        window.type('stty -g >before\r');
        for (const [way, leave] of [
          ['q', () => window.type('q')],
          ['interrupt', () => window.type('\u0003')],
          ['term', () => process.kill(childOf(window), 'SIGTERM')],
          ['error', () => process.kill(childOf(window), 'SIGUSR2')],
        ] as const) {
          window.type(`${WATCH}; echo "left=${way} $?"; stty -g >after-${way}; echo d""one-${way}\r`);
          await window.shows('never while driving', 30);
          expect(terminalOf(window)).toBe('other screen, no cursor');
          leave();
          await window.shows(`done-${way}\n`, 30);
          expect([way, terminalOf(window)]).toEqual([way, 'own screen, cursor']);
          expect(settings(`after-${way}`)).toBe(settings('before'));
          // An error is told on the terminal's own screen, where it can be read; quitting is none.
          expect(window.shown().includes('thrown on purpose')).toBe(way === 'error');
          window.type('clear\r');
          await until('the window is cleared', () => !window.shown().includes('done-'));
        }
        // Negative control: settings that are not given back would be found out.
        window.type('stty -echo; stty -g >after-worse; echo d""one-worse\r');
        await window.shows('done-worse');
        expect(settings('after-worse')).not.toBe(settings('before'));
      }),
    TIMEOUT_MS,
  );

  it(
    'gives the terminal to the shell while it is stopped, and takes it again',
    () =>
      onTerminals(async (_logger, tmux) => {
        const window = tmux.window(SIZE.columns, SIZE.rows, 'sh -im', { ...SETTINGS, PS1: '$ ' });
        window.type(`${WATCH}\r`);
        await window.shows('never while driving', 30);
        process.kill(childOf(window), 'SIGTSTP');
        await window.shows(/Stopped/);
        expect(terminalOf(window)).toBe('own screen, cursor');
        window.type('echo written by the sh""ell; stty raw -echo; fg\r');
        await window.shows('never while driving');
        expect(window.shown()).not.toContain('shell');
        expect(terminalOf(window)).toBe('other screen, no cursor');
        window.type('11');
        await window.shows('> 11_');
        window.type('\b\bq');
        await window.shows('written by the shell');
      }),
    TIMEOUT_MS,
  );
});

const terminalOf = (window: TmuxWindow): string =>
  ({ '0 1': 'own screen, cursor', '1 0': 'other screen, no cursor' })[
    window.asked('#{alternate_on} #{cursor_flag}')
  ] ?? 'something else';

/** The program that a window's shell waits for (Linux). */
function childOf(window: TmuxWindow): number {
  const shell = window.asked('#{pane_pid}');
  return Number(readFileSync(`/proc/${shell}/task/${shell}/children`, 'utf8').trim().split(' ')[0]);
}
