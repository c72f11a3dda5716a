import { execFileSync } from 'node:child_process';

/** A terminal of a real terminal multiplexer, as a person would see it. */
export interface Pane {
  /** Types a text; \n is Enter. */
  type(keys: string): void;
  /** What it shows once it shows the same for a while, without blanks at the ends of lines, and with `sign` in it. */
  settled(sign?: string): Promise<string>;
  /** What it shows now, with the codes of its colours. */
  coloured(): string;
  kill(): void;
}

const POLL_MS = 50;
/** The screen draws at most every 33 ms. */
const SAME_MIN = 3;
const POLLS_MAX = 400;

/** @param name of the multiplexer's own socket, so that no other session is touched */
export function paneRunning(
  name: string,
  { columns, rows }: { readonly columns: number; readonly rows: number },
  line: readonly string[],
  env: Readonly<Record<string, string>>,
): Pane {
  const tmux = (...args: readonly string[]) =>
    execFileSync('tmux', ['-L', name, ...args], { encoding: 'utf8', env: { ...process.env, TMUX: '' } });
  const settings = Object.entries(env).map(([key, value]) => `${key}=${value}`);
  tmux(
    ...['-f', '/dev/null', 'new-session', '-d', '-s', 'day', '-x', String(columns), '-y', String(rows)],
    ...['env', '-u', 'CI', ...settings, ...line],
    // The bar of the multiplexer would take a row.
    ...[';', 'set', '-g', 'status', 'off', ';', 'set', '-g', 'remain-on-exit', 'on'],
  );
  tmux('resize-window', '-t', 'day', '-x', String(columns), '-y', String(rows));
  const shown = () =>
    tmux('capture-pane', '-p', '-t', 'day')
      .split('\n')
      .map((row) => row.trimEnd())
      .join('\n')
      .trimEnd();
  return {
    type(keys) {
      for (const [index, text] of keys.split('\n').entries()) {
        if (index > 0) tmux('send-keys', '-t', 'day', 'Enter');
        if (text !== '') tmux('send-keys', '-t', 'day', '-l', '--', text);
      }
    },
    async settled(sign = '') {
      let before = '';
      let same = 0;
      for (let polls = 0; polls < POLLS_MAX; polls += 1) {
        const now = shown();
        same = now === before && now.includes(sign) ? same + 1 : 0;
        if (same >= SAME_MIN) return now;
        before = now;
        await new Promise((resolve) => setTimeout(resolve, POLL_MS));
      }
      throw new Error(`The terminal does not come to rest with ${JSON.stringify(sign)}; it shows\n${before}`);
    },
    coloured: () => tmux('capture-pane', '-p', '-e', '-t', 'day'),
    kill: () => void tmux('kill-server'),
  };
}
