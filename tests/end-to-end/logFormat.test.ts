import { once } from 'node:events';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { addBacklog } from '../mirror/rig.js';
import { freePort } from '../tools/freePort.js';
import { inFolder, start, stillwarm, until } from './program.js';

interface Line {
  readonly level: string;
  readonly time: string;
  readonly msg: string;
}

describe('log --log-format json', () => {
  it('is JSON on every line, also when it is refused, and tells by levels what matters', () =>
    inFolder(async (folder) => {
      const [store, buses] = [join(folder, 'x.sqlite'), join(folder, 'devices')];
      mkdirSync(buses);
      const args = ['log', '--one-wire', buses, '--store', store, '--log-format', 'json'];
      const logger = start(...args);
      let said = '';
      logger.stderr!.setEncoding('utf8').on('data', (text: string) => {
        said += text;
      });
      const lines = () =>
        said
          .trimEnd()
          .split('\n')
          .map((line) => JSON.parse(line) as Line);
      await until('it logs', () => said.includes('is there'));
      const second = await stillwarm(...args);
      expect(second.code).toBe(1);
      expect(
        second.err
          .trimEnd()
          .split('\n')
          .map((line) => JSON.parse(line) as Line),
      ).toMatchObject([{ level: 'error', msg: expect.stringContaining('already has a logger') }]);
      // As text, a refusal is a sentence (negative control).
      const plain = await stillwarm(...args.slice(0, -2));
      expect(plain.err).toMatch(/^\S+x\.sqlite already has a logger/);
      logger.kill('SIGTERM');
      expect((await once(logger, 'close'))[0]).toBe(0);
      expect(
        lines().every(({ level, time, msg }) => level !== '' && Date.parse(time) > 0 && msg !== ''),
      ).toBe(true);
      expect(lines().find(({ msg }) => msg.includes('is there'))).toMatchObject({
        level: 'info',
        source: buses,
      });
      expect(lines().at(-1)).toMatchObject({
        level: 'info',
        msg: expect.stringContaining('closed by the logger'),
      });
    }));

  it('warns of a mirror that cannot be reached', () =>
    inFolder(async (folder) => {
      const [store, buses] = [join(folder, 'x.sqlite'), join(folder, 'devices')];
      mkdirSync(buses);
      const server = `http://127.0.0.1:${await freePort()}`;
      await stillwarm('mirror', 'setup', server, '--database', 'bees', '--store', store);
      const opened = openStoreToWrite(store, utcMs(Date.now()));
      addBacklog(opened, 0, 1);
      opened.close();
      const logger = start('log', '--one-wire', buses, '--store', store, '--log-format', 'json');
      let said = '';
      logger.stderr!.setEncoding('utf8').on('data', (text: string) => {
        said += text;
      });
      await until('the mirror is missed', () => said.includes('mirror: '));
      logger.kill('SIGTERM');
      await once(logger, 'close');
      const lines = said
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line) as Line);
      expect(lines.find(({ msg }) => msg.startsWith('mirror: '))).toMatchObject({ level: 'warn' });
    }));
});
