import { chmodSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { rootCertificates } from 'node:tls';
import { describe, expect, it } from 'vitest';
import { type Machine, machineAt } from '../../../src/cli/checkup/machine.js';
import { storeChecks } from '../../../src/cli/checkup/storeChecks.js';
import { targetToJson } from '../../../src/mirror/target.js';
import { backUp } from '../../../src/store/backup.js';
import { openSqlite } from '../../../src/store/sqlite.js';
import { openStoreToWrite } from '../../../src/store/store.js';
import { parseBoardId, parseCarrierId, parseRomId } from '../../../src/units/ids.js';
import { boardMs, later, minutes, utcMs } from '../../../src/units/time.js';
import { eachInNewFolder } from '../../tools/newFolder.js';

const NOW = utcMs(1_790_000_000_000);
const carrier = parseCarrierId('A')!;
const board = parseBoardId('0000ABCD')!;
const rom = parseRomId('28-87-1F-3A-0C-00-00-8A')!;

let folder: string;
let path: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'store');
});

const machine: Machine = { ...machineAt('/'), fileSystem: () => ({ freeBytes: 5e9, type: 0xef53 }) };
const checks = (now = NOW, on = machine) => {
  const found = storeChecks(path, on, now);
  return new Map(found.map(({ check, state, says }) => [check, `${state}: ${says}`]));
};
const withStore = (task: (store: ReturnType<typeof openStoreToWrite>) => void = () => {}) => {
  const store = openStoreToWrite(path, NOW);
  store.transaction(() => task(store));
  store.close();
};

describe('storeChecks()', () => {
  it('is content with a store that is whole', () => {
    withStore();
    const found = checks();
    for (const check of ['disk', 'permission', 'file', 'chain', 'sealed', 'time', 'logger', 'lines'])
      expect(found.get(check), check).toMatch(/^good: /);
    expect(found.get('chain')).toMatch(/1 facts, head [0-9a-f]{64}/);
  });

  it('says what is missing, and makes nothing', () => {
    expect(checks().get('store')).toMatch(/^look: there is no store at .* yet/);
    expect(() => readFileSync(path)).toThrow();
    writeFileSync(path, 'a letter to somebody that is no store at all');
    expect(checks().get('store')).toMatch(/^bad: .* is not a stillwarm store/);
  });

  it('tells of a board whose log came in part, until all of it has been read', () => {
    const keep = (page: number) => (store: ReturnType<typeof openStoreToWrite>) =>
      void store.keepPage(board, { boot: 1, page, bytes: new Uint8Array(128) }, () => 'other');
    withStore(keep(1));
    withStore(keep(2));
    expect(checks().get('log')).toMatch(/^look: 0000ABCD: 2 pages of its log came and the rest did not; /);
    withStore((store) => {
      for (const page of [1, 2]) store.markRead(board, 1, { log: 0, page }, 1);
    });
    expect(checks().get('log')).toBeUndefined();
  });

  it('names a probe that gives one value for ever, until it changes or is gone for a day', () => {
    const read = (store: ReturnType<typeof openStoreToWrite>, scan: number, status: 'ok' | 'unchanging') =>
      store.addReadings([
        {
          rom,
          board,
          boot: 1,
          scan,
          slotIndex: 0,
          boardMs: boardMs(scan * 10_000),
          utc: later(NOW, minutes(scan)),
          raw: 400,
          status,
        },
      ]);
    withStore((store) => read(store, 1, 'ok'));
    const said = () => checks(later(NOW, minutes(5))).get('probe');
    // Negative control.
    expect(said()).toBeUndefined();
    withStore((store) => {
      for (const scan of [2, 3]) read(store, scan, 'unchanging');
    });
    expect(said()).toBe(
      `bad: ${rom} gives 25 °C and nothing else; its values are no observations from 2026-09-21T14:15:20.000Z on.`,
    );
    const aDayLater = later(NOW, minutes(25 * 60));
    expect(checks(aDayLater).get('probe')).toBeUndefined();
    // In a slot it stays named.
    withStore((store) => store.append(NOW, { type: 'probe-assigned', carrier, slot: 3, rom, at: NOW }));
    expect(checks(aDayLater).get('probe')).toMatch(/^bad: .* in slot A:3 gives 25 °C and nothing else/);
    withStore((store) => read(store, 4, 'ok'));
    expect(said()).toBeUndefined();
  });

  it('names a block of sealed readings of which a byte was changed', () => {
    withStore((store) =>
      store.addReadings([
        { rom, board, boot: 1, scan: 1, slotIndex: 0, boardMs: boardMs(1), utc: NOW, raw: 400, status: 'ok' },
      ]),
    );
    const store = openStoreToWrite(path, NOW);
    expect(store.sealOldest(later(NOW, minutes(120)), 1, NOW)).toMatchObject({ readings: 1 });
    store.close();
    expect(checks().get('sealed')).toMatch(/^good: /);
    const sqlite = openSqlite(path, 'write');
    sqlite.exec("UPDATE blocks SET bytes = CAST(replace(hex(bytes), '535742', '535743') AS BLOB)");
    sqlite.close();
    expect(checks().get('sealed')).toMatch(
      /^bad: 1 of the blocks of sealed readings cannot be relied on \(probe 28-87-1F-3A-0C-00-00-8A, hour 2026-09-21T14:00:00.000Z, board 0000ABCD, boot 1: its check sum is wrong\)/,
    );
    expect(checks().get('file')).toMatch(/^good: /);
    expect(backUp(path, join(folder, 'copy'))).toMatchObject({ readings: 1, damagedBlocks: 1 });
  });

  it('finds a page that was overwritten, and a fact that was changed', () => {
    withStore((store) => {
      for (let slot = 1; slot <= 10; slot += 1)
        store.append(NOW, { type: 'probe-assigned', carrier, slot, rom, at: NOW });
    });
    // A backup is one file; the store's last pages may still lie beside it.
    backUp(path, join(folder, 'copy'));
    path = join(folder, 'copy');
    const bytes = readFileSync(path);
    const changed = Buffer.from(bytes);
    changed.write('"slot":7', changed.indexOf('"slot":2'));
    writeFileSync(path, changed);
    expect(checks().get('chain')).toMatch(/^bad: fact \d+ does not follow/);
    bytes.fill(0x55, bytes.length - 4096, bytes.length - 2048);
    writeFileSync(path, bytes);
    const found = [...checks().values()].join('\n');
    expect(found).toMatch(/bad: .*damaged/);
  });

  it('names the versions of all that has one, and what an older store comes to', () => {
    withStore((store) =>
      store.append(NOW, {
        ...{
          type: 'board-booted',
          board,
          boot: 1,
          resetCause: 'power-on',
          firmware: '0.9.0',
          clock: 'absent',
        },
        at: NOW,
      } as const),
    );
    expect(checks().get('versions')).toMatch(
      /^good: stillwarm [\d.]+ on node [\d.]+, SQLite 3\.[\d.]+, store version 6, board 0000ABCD firmware 0\.9\.0\.$/,
    );
    const sqlite = openSqlite(path, 'write');
    sqlite.exec('PRAGMA user_version = 4');
    sqlite.close();
    expect(checks().get('versions')).toMatch(/^look: .*store version 4/);
    path = join(folder, 'none');
    expect(checks().get('versions')).toMatch(/^good: stillwarm [\d.]+ on node [\d.]+\.$/);
  });

  describe('of the mirror', () => {
    const target = (changes = {}) =>
      targetToJson({
        ...{
          url: 'https://tsdb.example',
          database: 'bees',
          credentialsFile: null,
          caFile: null,
          holdSeconds: 60,
        },
        ...changes,
      });
    const withMirror = (
      changes = {},
      task: (store: ReturnType<typeof openStoreToWrite>) => void = () => {},
    ) =>
      withStore((store) => {
        store.addReadings([
          {
            rom,
            board,
            boot: 1,
            scan: 1,
            slotIndex: 0,
            boardMs: boardMs(1),
            utc: NOW,
            raw: 400,
            status: 'ok',
          },
        ]);
        store.setMirror(target(changes), true);
        task(store);
      });
    const found = () => checks().get('mirror');

    it('says that it is off, and that all is sent', () => {
      withStore();
      expect(found()).toBe('good: off: nothing is sent.');
      withMirror({}, (store) =>
        store.moveMirror(1, { readings: 1, facts: 1 }, { readings: 1, facts: 1 }, 0, NOW),
      );
      expect(found()).toBe(
        'good: to https://tsdb.example, database bees: all is sent, the last was at 2026-09-21T14:13:20.000Z.',
      );
    });

    it('says that nobody sends, and what is in the way', () => {
      withMirror();
      expect(found()).toBe(
        'look: to https://tsdb.example, database bees: 1 reading not sent, none was ever.',
      );
      withStore((store) => store.tellMirror(1, 'waiting', 'nothing listens there', NOW));
      expect(found()).toMatch(/^look: .* cannot send \(nothing listens there\); 1 reading not sent/);
      withStore((store) => store.tellMirror(1, 'stopped', 'user unknown (401)', NOW));
      expect(found()).toMatch(/^look: .* stopped \(user unknown \(401\)\); 1 reading not sent/);
      // A logger at work sends by itself (negative control).
      withStore((store) => {
        store.tellMirror(1, 'sending', null, NOW);
        store.setLogger({ pid: process.pid, beat: NOW, now: NOW, speed: 1, state: 'logging' });
      });
      expect(found()).toMatch(/^good: /);
    });

    it('names files that it needs and cannot use', () => {
      const [credentialsFile, caFile] = [join(folder, 'credentials'), join(folder, 'ca.pem')];
      withMirror({ credentialsFile, caFile });
      expect(found()).toMatch(/^look: The credentials file .*credentials cannot be read \(ENOENT\)/);
      writeFileSync(credentialsFile, 'bee:Qk2-secret\n', { mode: 0o644 });
      expect(found()).toMatch(/^look: Others may read the credentials/);
      chmodSync(credentialsFile, 0o600);
      expect(found()).toMatch(/^look: its certificate authorities .*ca\.pem cannot be read/);
      writeFileSync(caFile, 'x');
      expect(found()).toMatch(/^look: .*ca\.pem holds no certificate; name a PEM file/);
      writeFileSync(caFile, rootCertificates[0]!);
      expect(found()).toMatch(/^look: to https:\/\/tsdb\.example/);
      // As an earlier version kept it.
      withMirror({ url: 'http://127.0.0.1:8086', caFile });
      expect(found()).toMatch(
        /^look: --ca .*ca\.pem has no meaning for http:\/\/127\.0\.0\.1:8086, .*or no --ca\.$/,
      );
      expect([...checks().values()].join()).not.toContain('Qk2');
    });
  });

  it('finds a clock that is behind the record, by more than a minute', () => {
    withStore();
    expect(checks(later(NOW, minutes(-1))).get('time')).toMatch(/^good/);
    expect(checks(later(NOW, minutes(-2))).get('time')).toMatch(
      /^bad: the clock says .*last fact was recorded/,
    );
  });

  it.each([
    ['a disk nearly full', { freeBytes: 99e6, type: 0xef53 }, /^bad: 99 MB are free/],
    ['a disk half full', { freeBytes: 999e6, type: 0xef53 }, /^look: 999 MB are free/],
    ['a network folder', { freeBytes: 5e9, type: 0x6969 }, /^bad: .*lies on NFS/],
  ])('finds %s', (_name, disk, expected) => {
    withStore();
    expect(checks(NOW, { ...machine, fileSystem: () => disk }).get('disk')).toMatch(expected);
  });

  it('finds a logger that ended without a word, damaged lines, a clock without time, probes without ice', () => {
    withStore((store) => {
      store.setLogger({ pid: 2 ** 22 + 1, beat: NOW, now: NOW, speed: 1, state: 'logging' });
      store.countDiscard('bad-crc', 40);
      store.append(
        NOW,
        { type: 'clock-compared', board, boot: 1, boardMs: boardMs(10), differenceMs: null, at: NOW },
        { type: 'probe-assigned', carrier, slot: 3, rom, at: NOW },
      );
    });
    const found = checks();
    expect(found.get('logger')).toMatch(/^look: the last one ended without a word/);
    expect(found.get('lines')).toBe('look: 1 arrived damaged (bad-crc 1).');
    expect(found.get('board')).toBe('look: 0000ABCD: its clock does not run.');
    expect(found.get('probes')).toBe('look: 1 of 1 in slots were not in ice within a year (A:3).');
  });
});
