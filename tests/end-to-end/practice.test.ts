import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { installedPath } from '../../src/units/installed.js';
import { whyNot } from '../tools/debianPrograms.js';
import { tmuxIn } from '../tools/tmux.js';
import { inFolder, PROGRAM } from './program.js';

/** What the page for the crew has them type, key by key, and what the screen has then. */
const LINES = [
  ...readFileSync(installedPath('docs/field-day.md'), 'utf8').matchAll(/^\| (`.*`) \| .* \| `(.*)` \|$/gm),
].map(([, keys, then]) => ({ keys: [...keys!.matchAll(/`([^`]+)`/g)].map(([, key]) => key!), says: then! }));
/** Keys that need no Enter. */
const AT_ONCE = new Set(['+', '*', '?']);
const typed = (key: string) => (key === 'Enter' ? '\r' : AT_ONCE.has(key) ? key : `${key}\r`);
/** Three hours of two carriers, on a machine that has other work. */
const RIDE_SECONDS = 280;

describe.skipIf(whyNot('tmux'))(`play --scenario practice ${whyNot('tmux') ?? ''}`, () => {
  it('runs to ten at once, lends its cups to the keys of the page for the crew, and keeps nothing', async () => {
    expect(LINES.length).toBeGreaterThan(8);
    await inFolder(async (folder) => {
      const tmux = tmuxIn(folder);
      try {
        const play = `env -u CI ${process.execPath} ${PROGRAM} play --scenario practice`;
        const window = tmux.window(80, 24, `${play}; echo "code $?"; ls; sleep 60`, { LANG: 'C.UTF-8' });
        await window.shows('yours from 10:00 on', RIDE_SECONDS);
        await window.shows('> _', RIDE_SECONDS);
        // Handed over at ten and in real time from there: far from over.
        await window.shows(/ 10:00:\d\d /);
        await window.shows('lost to cold: replace it while still here');
        for (const { keys, says } of LINES) {
          for (const key of keys) window.type(typed(key));
          await window.shows(says);
        }
        window.type('*q');
        await window.shows('Practice is over; nothing of it was kept.');
        // Nothing was left behind: `ls` finds only tmux's own folder.
        await window.shows(/code 0\n(tmux-\d+\n?)?$/);
      } finally {
        tmux.kill();
      }
    });
  }, 700_000);
});
