import { once } from 'node:events';
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { label, minute, OPENED, opens, visit } from '../visit/situation.js';
import { inFolder, start, until } from './program.js';

/** A stand-in for systemd-inhibit that writes down its process and becomes the command it is given. */
const STAND_IN = (folder: string) => `#!/bin/sh
while [ "\${1#--}" != "$1" ]; do shift; done
echo $$ >"${folder}/pid"
exec "$@"
`;

describe('log', () => {
  it.each([
    ['SIGTERM', 0],
    ['SIGKILL', null],
  ] as const)(
    'holds the computer awake while a cup is loaded, and lets go of it at %s',
    async (signal, ends) => {
      await inFolder(async (folder) => {
        const path = join(folder, 'x.sqlite');
        const store = openStoreToWrite(path, OPENED);
        const loaded = {
          kind: 'strip',
          active: 'amitraz strip',
          lot: 'L7',
          colony: null,
          group: null,
        } as const;
        store.append(OPENED, opens, {
          type: 'cup-loaded',
          visit,
          cup: label('A-1'),
          at: minute(0),
          ...loaded,
        });
        store.close();
        const devices = join(folder, 'devices');
        mkdirSync(join(devices, 'w1_bus_master1'), { recursive: true });
        writeFileSync(join(folder, 'systemd-inhibit'), STAND_IN(folder));
        chmodSync(join(folder, 'systemd-inhibit'), 0o755);
        const before = process.env['PATH'];
        process.env['PATH'] = `${folder}${delimiter}${before}`;
        const logger = start('log', '--store', path, '--one-wire', devices);
        process.env['PATH'] = before;
        const isHeld = () => {
          try {
            return process.kill(Number(readFileSync(join(folder, 'pid'), 'utf8')) || 2 ** 30, 0);
          } catch {
            return false;
          }
        };
        await until('the computer is held awake', isHeld, 20);
        const closed = once(logger, 'close');
        logger.kill(signal);
        expect((await closed)[0]).toBe(ends);
        await until('the computer is let go', () => !isHeld(), 10);
      });
    },
  );
});
