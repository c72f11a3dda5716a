import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PROGRAM, until } from './program.js';

/** The program on a terminal of its own: a real pseudo-terminal, made by socat. */
export interface OnTerminal {
  /** All that it showed so far. */
  shown(): string;
  /** Waits until it shows this behind what was waited for before. */
  sees(what: RegExp, seconds?: number): Promise<void>;
  /** Keys; the key Enter is \r, Ctrl-C is \u0003. */
  type(keys: string): void;
  /** Waits for its end and gives its exit code. */
  ended(): Promise<number>;
}

const quoted = (text: string) => `'${text.replaceAll("'", "'\\''")}'`;

/** @param folder where the line that starts it is kept, which socat could not take apart rightly */
export const onTerminal = (folder: string, ...args: readonly string[]): OnTerminal =>
  onTerminalWith({ TERM: 'xterm' }, folder, ...args);

/** The same with an environment of one's choice, and perhaps a window of another width than 80 columns. */
export function onTerminalWith(
  {
    columns = 80,
    ...env
  }: { readonly columns?: number; readonly [name: string]: string | number | undefined },
  folder: string,
  ...args: readonly string[]
): OnTerminal {
  const script = join(folder, 'line.sh');
  // Ctrl-C is for the program, not for the shell that tells its exit code.
  const before = `trap : INT\nstty cols ${columns} rows 24\n`;
  writeFileSync(
    script,
    `${before}${[process.execPath, PROGRAM, ...args].map(quoted).join(' ')}\necho "code=$?"\n`,
  );
  const child = spawn('socat', ['-', `EXEC:sh ${script},pty,setsid,ctty,stderr`], {
    stdio: ['pipe', 'pipe', 'ignore'],
    env: { ...process.env, CI: '', ...(env as Record<string, string>) },
  });
  let shown = '';
  let seen = 0;
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    shown += text;
  });
  return {
    shown: () => shown,
    async sees(what, seconds) {
      await until(`${what} on the terminal`, () => what.test(shown.slice(seen)), seconds);
      const match = what.exec(shown.slice(seen))!;
      seen += match.index + match[0].length;
    },
    type: (keys) => {
      child.stdin.write(keys);
    },
    async ended() {
      if (child.exitCode === null) await once(child, 'close');
      return Number(/code=(\d+)/.exec(shown)?.[1]);
    },
  };
}
