import { execFileSync } from 'node:child_process';
import { until } from '../end-to-end/program.js';

/** A window of tmux: a real terminal that can be asked what it shows. */
export interface TmuxWindow {
  /** Keys as they are typed: \r is Enter, \u001b Esc. */
  type(keys: string): void;
  /** A key by tmux's name, as Right. */
  press(name: string): void;
  /** What it shows, line by line, without blanks at the ends. */
  shown(): string;
  /** The same with the control sequences of its colours. */
  coloured(): string;
  /** Waits until it shows a text. */
  shows(text: string | RegExp, seconds?: number): Promise<void>;
  /** Whether its program, and with it the window, has ended. */
  isGone(): boolean;
  /** Gives it another size. */
  resize(columns: number, rows: number): void;
  /** What tmux knows of it, as '#{alternate_on}'. */
  asked(format: string): string;
}

export interface Tmux {
  window(columns: number, rows: number, command: string, env?: Readonly<Record<string, string>>): TmuxWindow;
  kill(): void;
}

/** A tmux server of its own, whose socket and windows live in a folder of the test. */
export function tmuxIn(folder: string): Tmux {
  const env = { ...process.env, TMUX_TMPDIR: folder, TMUX: '', LC_ALL: 'C.UTF-8', TERM: 'xterm-256color' };
  const tmux = (...args: readonly string[]): string =>
    execFileSync('tmux', ['-L', 'stillwarm-tests', '-f', '/dev/null', ...args], {
      env,
      encoding: 'utf8',
      stdio: 'pipe',
    });
  let count = 0;
  return {
    window(columns, rows, command, given = {}) {
      count += 1;
      const name = `w${count}`;
      const settings = Object.entries({ LC_ALL: 'C.UTF-8', ...given }).flatMap(([key, value]) => [
        '-e',
        `${key}=${value}`,
      ]);
      const size = ['-x', String(columns), '-y', String(rows)];
      tmux('new-session', '-d', '-s', name, '-c', folder, ...size, ...settings, command);
      tmux('set-option', '-t', name, 'status', 'off');
      // The status line had taken a row.
      tmux('resize-window', '-t', name, ...size);
      const shown = (...how: readonly string[]) =>
        tmux('capture-pane', '-p', '-t', name, ...how)
          .split('\n')
          .map((line) => line.trimEnd())
          .join('\n')
          .trimEnd();
      return {
        type: (keys) => void tmux('send-keys', '-t', name, '-l', '--', keys),
        press: (key) => void tmux('send-keys', '-t', name, key),
        shown,
        coloured: () => shown('-e'),
        async shows(text, seconds = 15) {
          const isThere = () => (typeof text === 'string' ? shown().includes(text) : text.test(shown()));
          await until(`${text} in the window`, isThere, seconds).catch((error: Error) => {
            throw new Error(`${error.message}; it shows:\n${shown()}`);
          });
        },
        isGone() {
          try {
            tmux('has-session', '-t', name);
            return false;
          } catch {
            return true;
          }
        },
        resize: (wide, high) =>
          void tmux('resize-window', '-t', name, '-x', String(wide), '-y', String(high)),
        asked: (format) => tmux('display-message', '-p', '-t', name, format).trim(),
      };
    },
    kill() {
      try {
        tmux('kill-server');
      } catch {
        // It ends by itself when its last window does.
      }
    },
  };
}
