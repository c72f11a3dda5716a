import { closeSync, fstatSync, openSync } from 'node:fs';
import { devNull } from 'node:os';

/** Control sequences sent besides the frames (ECMA-48; the alternate screen is an xterm extension). */
const ALTERNATE_SCREEN = '\u001b[?1049h';
const MAIN_SCREEN = '\u001b[?1049l';
const SHOW_CURSOR = '\u001b[?25h';
const CLEAR_AND_HOME = '\u001b[2J\u001b[H';
const BELL = '\u0007';

/** A terminal that may go away at any moment. */
export interface Terminal {
  /** Takes a screen of its own, so that what stands in the terminal and its scrollback stays as it is. */
  enter(): void;
  clear(): void;
  ring(): void;
  /** Gives back what was there before; may be called again. */
  leave(): void;
}

export function terminalOn(stdout: NodeJS.WriteStream): Terminal {
  let entered = false;
  const send = (text: string) => {
    if (stdout.isTTY && !stdout.destroyed && stdout.writable) stdout.write(text);
  };
  const terminal: Terminal = {
    enter() {
      entered = true;
      process.once('exit', terminal.leave);
      send(ALTERNATE_SCREEN + CLEAR_AND_HOME);
    },
    clear: () => send(CLEAR_AND_HOME),
    ring: () => send(BELL),
    leave() {
      process.off('exit', terminal.leave);
      if (entered) send(CLEAR_AND_HOME + MAIN_SCREEN + SHOW_CURSOR);
      entered = false;
    },
  };
  return terminal;
}

/**
 * A terminal for ink to draw on: of one width for ever, and so high that no frame fills it. Left to itself ink
 * draws an old frame at a new size when the window shrinks, and wipes the scrollback once a frame is as high as
 * the window; here the window is watched, and frames are cut to size, outside it.
 */
export function sheetOf(stdout: NodeJS.WriteStream, columns: number): NodeJS.WriteStream {
  const ownListeners = new Set(['on', 'off', 'once', 'addListener', 'removeListener']);
  return new Proxy(stdout, {
    get(target, key) {
      if (key === 'columns') return columns;
      if (key === 'rows') return Number.MAX_SAFE_INTEGER;
      const value: unknown = Reflect.get(target, key, target);
      if (typeof value !== 'function') return value;
      if (typeof key !== 'string' || !ownListeners.has(key)) return value.bind(target);
      return (event: string, listener: unknown) =>
        event === 'resize' ? undefined : value.call(target, event, listener);
    },
  });
}

/**
 * Puts the null device in the place of standard streams whose terminal has hung up. Node resets the terminal of
 * its standard streams when it exits, and aborts with a native stack trace when that terminal is gone.
 */
export function letGoOfTerminal(): void {
  for (const stream of [0, 1, 2]) {
    try {
      if (!fstatSync(stream).isCharacterDevice()) continue;
      closeSync(stream);
      // The lowest free number is given out: the one just closed.
      openSync(devNull, 'r+');
    } catch {
      // Closed already: nothing to let go of.
    }
  }
}
