import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Linux counts processor time in hundredths of a second. */
const TICKS = 100;
const MB = 1e6;
const SECOND = 1000;
const PICTURE_MAX = 60 * SECOND;

/** A program that draws on a terminal of its own, measured from outside (Linux, socat). */
export interface Drawing {
  /** From the start of the terminal until the picture stood there. */
  readonly firstPictureSeconds: number;
  /** Processor time that it took so far. */
  processorSeconds(): number;
  /** The most memory it held so far, millions of bytes. */
  peakMB(): number;
  /** Types this, and waits for the end. */
  quit(key: string): Promise<void>;
}

/**
 * Starts node with these arguments on a pseudo-terminal of 120 by 40, and waits until it has drawn `picture`.
 *
 * @param folder where the line that starts it and its process id are kept
 */
export async function drawing(folder: string, args: readonly string[], picture: RegExp): Promise<Drawing> {
  const script = join(folder, 'line.sh');
  const idFile = join(folder, 'pid');
  const line = [process.execPath, ...args].map((word) => `'${word}'`).join(' ');
  writeFileSync(script, `stty cols 120 rows 40\necho $$ > '${idFile}'\nexec ${line}\n`);
  // Where it is set, even if to nothing, drawing libraries draw nothing.
  const { CI: _, ...env } = process.env;
  const begun = performance.now();
  const terminal = spawn('socat', ['-', `EXEC:sh ${script},pty,setsid,ctty`], {
    stdio: ['pipe', 'pipe', 'ignore'],
    env: { ...env, TERM: 'xterm-256color' },
  });
  let text = '';
  let drawnAt: number | null = null;
  terminal.stdout.setEncoding('utf8').on('data', (piece: string) => {
    if (drawnAt !== null) return;
    text += piece;
    if (picture.test(text)) drawnAt = performance.now();
  });
  while (drawnAt === null) {
    if (terminal.exitCode !== null || performance.now() - begun > PICTURE_MAX)
      throw new Error(`no picture was drawn: ${text.slice(-500)}`);
    await wait(5);
  }
  const pid = Number(readFileSync(idFile, 'utf8'));
  return {
    firstPictureSeconds: (drawnAt - begun) / SECOND,
    processorSeconds() {
      const fields = readFileSync(`/proc/${pid}/stat`, 'latin1').split(') ')[1]!.split(' ');
      return (Number(fields[11]) + Number(fields[12])) / TICKS;
    },
    peakMB: () =>
      (Number(/VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'latin1'))![1]) * 1024) / MB,
    async quit(key) {
      const ended = once(terminal, 'close');
      terminal.stdin.write(key);
      await ended;
    },
  };
}

/** Waits for so many milliseconds. */
export const wait = (ms: number): Promise<void> =>
  new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
