import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { parseVisitId, parseYardCode } from '../../src/units/ids.js';
import { Refusal } from '../../src/units/refusal.js';
import { utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { reading as invented } from './invented.js';

const NOON = utcMs(Date.UTC(2026, 4, 12, 12));
const opened = (visit: string): Fact => ({
  type: 'visit-opened',
  visit: parseVisitId(visit)!,
  yard: parseYardCode('alder-07')!,
  zone: 'UTC',
  at: NOON,
  active: null,
  lot: null,
  declaredCups: null,
  rules: { name: 'test' },
});
const reading = (scan: number, raw: number) => invented(0, scan, { raw, utc: utcMs(NOON + scan * 10_000) });

let folder: string;
let path: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'season.sqlite');
});

describe('openStoreToWrite()', () => {
  it('creates a store whose first fact names it', () => {
    const store = openStoreToWrite(path, NOON);
    expect(store.facts().map(({ seq, fact }) => [seq, fact.type])).toEqual([[1, 'store-created']]);
    store.close();
  });

  it('opens an existing store without a second first fact', () => {
    openStoreToWrite(path, NOON).close();
    const store = openStoreToWrite(path, NOON);
    expect(store.head().count).toBe(1);
    store.close();
  });

  it.each([
    ['a text file', Buffer.from('probe,time,celsius\n'), 'another kind of file'],
    ['a file of nulls', Buffer.alloc(4096), 'another kind of file'],
  ])('refuses %s and leaves it as it was', (_name, bytes, sentence) => {
    writeFileSync(path, bytes);
    expect(() => openStoreToWrite(path, NOON)).toThrow(sentence);
    expect(readFileSync(path)).toEqual(bytes);
    expect(existsSync(`${path}-wal`)).toBe(false);
  });

  it("refuses another program's SQLite database and leaves it as it was", () => {
    const other = openSqlite(path, 'write');
    other.exec('CREATE TABLE t (x)');
    other.close();
    const before = readFileSync(path);
    expect(() => openStoreToWrite(path, NOON)).toThrow('database of another program');
    expect(readFileSync(path)).toEqual(before);
  });

  it('refuses a store of a newer version', () => {
    openStoreToWrite(path, NOON).close();
    const newer = openSqlite(path, 'write');
    newer.exec('PRAGMA user_version = 99');
    newer.exec('PRAGMA wal_checkpoint(TRUNCATE)');
    newer.close();
    expect(() => openStoreToWrite(path, NOON)).toThrow('written by a newer stillwarm (store version 99');
  });

  it('leaves the store of whoever was first', async () => {
    // Eight processes create the same store at the same time; all of them must end up in one chain.
    const module = new URL('../../.build/src/store/store.js', import.meta.url).href;
    const script = `
      const { openStoreToWrite, openStoreToRead } = await import('${module}');
      const store = openStoreToWrite('${path}', ${NOON});
      store.close();
      openStoreToRead('${path}').logger();`;
    const codes = await Promise.all(
      Array.from({ length: 8 }, async () => {
        const child = spawn(process.execPath, ['--input-type=module', '-e', script], { stdio: 'inherit' });
        return (await once(child, 'close'))[0] as number;
      }),
    );
    expect(codes).toEqual(Array(8).fill(0));
    const reader = openStoreToRead(path);
    expect(reader.facts().map(({ fact }) => fact.type)).toEqual(['store-created']);
    reader.close();
  });

  it('goes on writing while others read, from its first moment on', async () => {
    // A reader spins on the path while the creator writes; both must see one database to the end.
    const module = new URL('../../.build/src/store/store.js', import.meta.url).href;
    const facts = 200;
    const writer = spawn(
      process.execPath,
      [
        '--input-type=module',
        '-e',
        `const { openStoreToWrite } = await import('${module}');
         const store = openStoreToWrite('${path}', ${NOON});
         for (let n = 0; n < ${facts}; n += 1) {
           store.transaction(() => store.append(${NOON}, { type: 'visit-closed', visit: 'v' + n, at: ${NOON} }));
           store.setLogger({ pid: 1, beat: ${NOON}, now: ${NOON}, speed: 1, state: 'logging' });
         }`,
      ],
      { stdio: 'inherit' },
    );
    let code: number | null = null;
    writer.once('close', (status) => {
      code = status ?? -1;
    });
    const troubles = new Set<string>();
    while (code === null) {
      if (existsSync(path)) {
        try {
          const reader = openStoreToRead(path);
          reader.facts();
          reader.logger();
          reader.close();
        } catch (error) {
          if (!(error instanceof Refusal && error.message.includes('is empty'))) troubles.add(String(error));
        }
      }
      await new Promise((resolve) => setImmediate(resolve));
    }
    expect([...troubles]).toEqual([]);
    expect(code).toBe(0);
    const reader = openStoreToRead(path);
    expect(reader.head().count).toBe(1 + facts);
    expect(reader.brokenAt()).toBeNull();
    reader.close();
  });

  it('refuses a folder that does not exist', () => {
    expect(() => openStoreToWrite(join(folder, 'no', 'such.sqlite'), NOON)).toThrow(Refusal);
  });
});

describe('openStoreToRead()', () => {
  it('refuses a missing file and creates none', () => {
    expect(() => openStoreToRead(path)).toThrow('does not exist');
    expect(existsSync(path)).toBe(false);
  });

  it('sees what a writer has committed, and cannot write', () => {
    const writer = openStoreToWrite(path, NOON);
    const reader = openStoreToRead(path);
    writer.transaction(() => writer.append(NOON, opened('v1')));
    expect(reader.facts().at(-1)?.fact).toMatchObject({ type: 'visit-opened', visit: 'v1', at: NOON });
    expect(() => reader.append(NOON, opened('v2'))).toThrow();
    expect(reader.head().count).toBe(2);
    reader.close();
    writer.close();
  });
});

describe('facts()', () => {
  it('gives back what was appended, in order', () => {
    const store = openStoreToWrite(path, NOON);
    store.append(NOON, opened('v1'), opened('v2'));
    expect(store.facts(1).map(({ seq, fact }) => [seq, fact])).toEqual([
      [2, opened('v1')],
      [3, opened('v2')],
    ]);
    store.close();
  });

  it('loses a transaction whole when it throws', () => {
    const store = openStoreToWrite(path, NOON);
    expect(() =>
      store.transaction(() => {
        store.append(NOON, opened('v1'));
        throw new Error('power');
      }),
    ).toThrow('power');
    expect(store.head().count).toBe(1);
    store.close();
  });
});

describe('append()', () => {
  it('refuses what facts() could not give back, and writes nothing', () => {
    const store = openStoreToWrite(path, NOON);
    for (const broken of [
      { ...opened('v1'), active: '' },
      { ...opened('v1'), lot: 'x'.repeat(200) },
      { ...opened('v1'), lot: ' L7' },
      { ...opened('v1'), lot: 'L\u00007' },
    ] as Fact[])
      expect(() => store.append(NOON, broken)).toThrow(/^(active|lot) cannot be recorded/);
    expect(store.facts()).toHaveLength(1);
    store.close();
  });
});

describe('brokenAt()', () => {
  const tampered = (sql: string) => {
    const store = openStoreToWrite(path, NOON);
    store.append(NOON, opened('v1'), opened('v2'), opened('v3'));
    expect(store.brokenAt()).toBeNull();
    store.close();
    const raw = openSqlite(path, 'write');
    raw.exec(sql);
    raw.close();
    const reader = openStoreToRead(path);
    const at = reader.brokenAt();
    reader.close();
    return at;
  };

  // Negative controls: each change behind the program's back is noticed where it was made.
  it('finds an edited fact', () => {
    expect(tampered(`UPDATE facts SET line = replace(line, 'alder-07', 'alder-08') WHERE seq = 3`)).toBe(3);
  });
  it('finds a removed fact', () => {
    expect(tampered('DELETE FROM facts WHERE seq = 2')).toBe(3);
  });
});

describe('readings()', () => {
  it('keeps each reading once, whatever is sent again', () => {
    const store = openStoreToWrite(path, NOON);
    store.addReadings([reading(1, 250), reading(2, 251)]);
    store.addReadings([reading(2, 999), reading(3, 252)]);
    const kept = store.readings(reading(1, 0).rom, NOON, utcMs(NOON + 60_000));
    expect(kept.map(({ scan, raw }) => [scan, raw])).toEqual([
      [1, 250],
      [2, 251],
      [3, 252],
    ]);
    expect(kept[0]).toMatchObject(reading(1, 250));
    expect(store.readingsAfter(kept[1]!.id, 10).map(({ scan }) => scan)).toEqual([3]);
    store.close();
  });
});

describe('keepText()', () => {
  it('references a text without revealing it', () => {
    const store = openStoreToWrite(path, NOON);
    const first = store.keepText('dropped the cup');
    const second = store.keepText('dropped the cup');
    expect(first).toMatch(/^[0-9a-f]{64}$/);
    expect(second).not.toBe(first);
    expect(store.text(first)).toBe('dropped the cup');
    store.close();
  });
});
