import { join } from 'node:path';
import { openStoreToWrite } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import type { Tmux, TmuxWindow } from '../tools/tmux.js';
import { assigns, inventedRom, minute, OPENED } from '../visit/situation.js';
import { PROGRAM } from './program.js';

const STORE = 'stillwarm.sqlite';
/** A sign of life comes this often, ms. */
const BEAT_MS = 500;

/** A store of three slots whose logger is the test: its time stands still but for what the test says. */
export function standingLogger(folder: string): { goTo(minutes: number): void; stop(): void } {
  const store = openStoreToWrite(join(folder, STORE), OPENED);
  record(store, OPENED, () => [assigns(1), assigns(2, inventedRom(2)), assigns(3, inventedRom(3))]);
  let now = minute(6);
  const beat = () =>
    store.setLogger({ pid: process.pid, beat: utcMs(Date.now()), now, speed: 0, state: 'logging' });
  beat();
  const timer = setInterval(beat, BEAT_MS);
  return {
    goTo(minutes) {
      now = minute(minutes);
      beat();
    },
    stop() {
      clearInterval(timer);
      store.close();
    },
  };
}

const quoted = (text: string) => `'${text.replaceAll("'", "'\\''")}'`;
/** The line that shows the store of the folder a window stands in. */
export const WATCH = [process.execPath, PROGRAM, 'watch', '--store', STORE, '--by', 'second of the crew']
  .map(quoted)
  .join(' ');
/** The zone is told to the program as to any other: by the computer's settings. */
export const SETTINGS = { TZ: 'Etc/UTC' };

/** The screen in a window of tmux. */
export async function watched(
  tmux: Tmux,
  { columns, rows }: { readonly columns: number; readonly rows: number },
  env: Readonly<Record<string, string>> = {},
): Promise<TmuxWindow> {
  const window = tmux.window(columns, rows, WATCH, { ...SETTINGS, ...env });
  await window.shows('never while driving', 30);
  return window;
}
