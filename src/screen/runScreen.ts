import type { Clock } from '../units/clock.js';
import { durationMs } from '../units/time.js';
import { canShowUnicode, inAscii } from './ascii.js';
import { STROKES } from './bell.js';
import { type KeyPress, readKeys } from './keyboard.js';
import { type SessionOptions, screenSession } from './session.js';
import { type Picture, sheetOn } from './sheet.js';
import { canvas, type Size } from './size.js';
import { letGoOfTerminal, terminalOn } from './terminal.js';

export interface ScreenOptions extends SessionOptions {
  readonly clock: Clock;
  /** Whether there is nothing more to wait for. */
  readonly finished: () => boolean;
  readonly stdin: NodeJS.ReadStream;
  readonly stdout: NodeJS.WriteStream;
  readonly env: NodeJS.ProcessEnv;
}

export type ScreenEnd = 'quit' | 'finished';

/** The picture is renewed this often: the clock in it counts seconds, and no board is read more often. Keys do not wait for it. */
const REFRESH = durationMs(1000);
/** What people entered elsewhere is looked for this often: a question of microseconds. */
const PEEK = durationMs(250);
/** What others write on the terminal, as a system does that loses a cable, stands in the picture no longer than this. */
const WHOLE = durationMs(10_000);
/** Between two strokes of the bell; terminals take faster ones for one. */
const STROKE_PAUSE = durationMs(250);
const SIZE_UNKNOWN: Size = { columns: 80, rows: 24 };
const SIGNALS = ['SIGINT', 'SIGTERM'] as const;

/**
 * Shows a store live until people quit or `finished()`; then the results, until they are put away. Without keys
 * (stdin is no terminal) it returns as soon as it is finished. The terminal is left as it was found.
 *
 * A terminal that hangs up or a broken pipe is a way to quit, never an error. Closing the screen stops nothing
 * but the screen.
 */
export async function runScreen(options: ScreenOptions): Promise<ScreenEnd> {
  const { clock, finished, stdin, stdout, env } = options;
  const keys = stdin.isTTY === true;
  const colour = (env['NO_COLOR'] ?? '') === '';
  const isUnicode = canShowUnicode(env);
  const session = screenSession(options);
  const terminal = terminalOn(stdout);
  const sheet = sheetOn(stdout);
  const { ended, end, fail, isOver } = ending();
  let stops: (() => void)[] = [];

  const size = (): Size => ({
    columns: stdout.columns || SIZE_UNKNOWN.columns,
    rows: stdout.rows || SIZE_UNKNOWN.rows,
  });
  let keysUndrawn = false;
  const onKey = (key: KeyPress) => {
    if (isOver()) return;
    if (key === 'redraw') return redraw();
    if (session.press(key, size())) return close();
    if (keysUndrawn) return;
    keysUndrawn = true;
    // What a scanner types at once is drawn once.
    queueMicrotask(() => {
      keysUndrawn = false;
      draw();
    });
  };
  const picture = (): Picture => {
    const window = size();
    const lines = session.lines(window);
    return {
      lines: isUnicode ? lines : inAscii(lines),
      size: canvas(window),
      colour,
      theme: session.theme,
    };
  };
  /** Stopped: the shell has the terminal. */
  let isAway = false;
  const draw = () => {
    if (!isOver() && !isAway) sheet.show(picture());
  };
  const redraw = () => {
    sheet.forget();
    draw();
  };
  const close = () => end(session.showsResults ? 'finished' : 'quit');
  const ring = async (strokes: number) => {
    for (let stroke = 0; stroke < strokes && !isOver(); stroke += 1) {
      if (stroke > 0) await clock.sleep(STROKE_PAUSE);
      if (!isOver() && !isAway) terminal.ring();
    }
  };
  const refresh = () => {
    if (isOver()) return;
    try {
      if (!session.showsResults && finished()) {
        if (!keys) return end('finished');
        session.showResults();
      }
      const sound = session.showsResults ? null : session.look();
      draw();
      if (sound !== null) void ring(STROKES[sound]);
    } catch (error) {
      fail(error);
    }
  };

  let letKeysGo = () => {};
  const takeKeys = () => {
    letKeysGo();
    letKeysGo = keys ? readKeys(stdin, onKey) : () => {};
  };
  /** The shell has the terminal until the screen is continued, and may have changed it. */
  const pause = () => {
    letKeysGo();
    letKeysGo = () => {};
    isAway = true;
    terminal.leave();
    process.kill(process.pid, 'SIGSTOP');
  };
  const goOn = () => {
    if (isOver()) return;
    isAway = false;
    terminal.enter();
    takeKeys();
    redraw();
  };

  let gone = false;
  const hangUp = () => {
    gone = true;
    close();
  };

  // Never taken off: output that failed once fails again, also for what is printed after the screen.
  stdout.on('error', hangUp);
  stdin.on('error', hangUp);
  if (keys) stdin.on('end', hangUp);
  process.on('SIGHUP', hangUp);
  for (const signal of SIGNALS) process.on(signal, close);
  process.on('SIGTSTP', pause);
  process.on('SIGCONT', goOn);
  terminal.enter();
  try {
    refresh();
    stdout.on('resize', redraw);
    takeKeys();
    stops = [
      clock.every(PEEK, () => {
        if (session.isBehind()) refresh();
      }),
      clock.every(REFRESH, refresh),
      clock.every(WHOLE, redraw),
    ];
    return await ended;
  } finally {
    for (const stop of stops) stop();
    letKeysGo();
    stdout.off('resize', redraw);
    process.off('SIGHUP', hangUp);
    for (const signal of SIGNALS) process.off(signal, close);
    process.off('SIGTSTP', pause);
    process.off('SIGCONT', goOn);
    stdin.off('end', hangUp);
    terminal.leave();
    if (gone) letGoOfTerminal();
  }
}

/** How the screen ends: once, and the first way counts. */
function ending() {
  let over = false;
  let settle: { resolve: (how: ScreenEnd) => void; reject: (error: unknown) => void } | undefined;
  const ended = new Promise<ScreenEnd>((resolve, reject) => {
    settle = { resolve, reject };
  });
  return {
    ended,
    isOver: () => over,
    end(how: ScreenEnd) {
      over = true;
      settle?.resolve(how);
    },
    fail(error: unknown) {
      over = true;
      settle?.reject(error);
    },
  };
}
