import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { record } from '../../src/visit/record.js';
import { foldSeason } from '../../src/visit/season.js';
import { whyNot } from '../tools/debianPrograms.js';
import { tmuxIn } from '../tools/tmux.js';
import { label, loads, minute, OPENED, opens, seats } from '../visit/situation.js';
import { inFolder } from './program.js';
import { standingLogger, watched } from './standingLogger.js';

const PAD = /^[0-9.+\-*/\r]*$/;

describe.skipIf(whyNot('tmux'))(`a number pad alone ${whyNot('tmux') ?? ''}`, () => {
  it('turns, counts, mutes, turns pages and leaves', () =>
    inFolder(async (folder) => {
      const logger = standingLogger(folder);
      const tmux = tmuxIn(folder);
      const store = openStoreToWrite(join(folder, 'stillwarm.sqlite'), OPENED);
      record(store, minute(5), () => [opens, loads('C-101', 1), seats('C-101', 1, 2)]);
      logger.goTo(181);
      const window = await watched(tmux, { columns: 60, rows: 20 });
      const pad = async (keys: string, shows: string) => {
        expect(keys).toMatch(PAD);
        window.type(keys);
        await window.shows(shows);
      };
      try {
        await pad('-', '- page 2/2');
        await pad('-', '- page 1/2');
        await pad('+', 'seen');
        await pad('3\r\r', 'Turn C-101. Enter: record');
        await pad('\r', 'Recorded: Turn C-101');
        await pad('*4\r\r7\r\r', 'Recorded: C-101: 7 mites on the tray');
        await pad('*5\r\r3\r\r', 'Recorded: C-101: 3 mites in the wash');
        await pad('*6\r\r310\r2\r4\r\r\r', 'Recorded: C-101: 310 bees, weighed');
        await pad('19\r\r', '19 unmute');
        await pad('.', 'Type a number and Enter');
        await pad('-', 'lines 1');
        await pad('*', '- page 1/2');
        await pad('17\r', 'Yard alder-07');
        const read = openStoreToRead(join(folder, 'stillwarm.sqlite'));
        const season = foldSeason(read.facts());
        read.close();
        expect(season.cups.get(label('C-101'))).toMatchObject({
          turn: minute(181),
          counts: { tray: 7, wash: 3, bees: 310 },
          bees: { how: 'weighed', cv: 0.04 },
        });
        expect(PAD.test('q')).toBe(false);
        window.type('*21\r\r');
        // The window's program was the screen: with it the window ends.
        await expect.poll(() => window.isGone(), { timeout: 15_000 }).toBe(true);
      } finally {
        store.close();
        tmux.kill();
        logger.stop();
      }
    }));
});
