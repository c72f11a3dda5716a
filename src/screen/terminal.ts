import { closeSync, fstatSync, openSync } from 'node:fs';
import { devNull } from 'node:os';
import ansiEscapes from 'ansi-escapes';

/** Whether letters beyond the end of a row go on in the next (DEC VT100): a sign wider than thought must not spill over. */
const AUTOWRAP_OFF = '\u001b[?7l';
const AUTOWRAP_ON = '\u001b[?7h';
const CLEAR_AND_HOME = ansiEscapes.eraseScreen + ansiEscapes.cursorTo(0, 0);

/** A terminal that may go away at any moment. */
export interface Terminal {
  /** Takes a screen of its own, so that what stands in the terminal and its scrollback stays as it is; may be called again. */
  enter(): void;
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
      if (!entered) process.once('exit', terminal.leave);
      entered = true;
      send(ansiEscapes.enterAlternativeScreen + ansiEscapes.cursorHide + AUTOWRAP_OFF + CLEAR_AND_HOME);
    },
    ring: () => send(ansiEscapes.beep),
    leave() {
      process.off('exit', terminal.leave);
      if (entered)
        send(CLEAR_AND_HOME + AUTOWRAP_ON + ansiEscapes.exitAlternativeScreen + ansiEscapes.cursorShow);
      entered = false;
    },
  };
  return terminal;
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
