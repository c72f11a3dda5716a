import {
  chmodSync,
  copyFileSync,
  existsSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { backUp, restore } from '../../src/store/backup.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead, openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId, parseRomId } from '../../src/units/ids.js';
import { boardMs, utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const NOW = utcMs(1_790_000_000_000);
const rom = parseRomId('28-87-1F-3A-0C-00-00-8A')!;
const board = parseBoardId('0000ABCD')!;

let folder: string;
let store: Store;
const at = (name: string) => join(folder, name);
const write = (first: number, count: number) =>
  store.transaction(() => {
    for (let scan = first; scan < first + count; scan += 1)
      store.addReadings([
        { rom, board, boot: 1, scan, slotIndex: 0, boardMs: boardMs(scan), utc: NOW, raw: 1, status: 'ok' },
      ]);
  });
eachInNewFolder((fresh) => {
  folder = fresh;
  store = openStoreToWrite(at('store'), NOW);
  write(1, 5000);
});
afterEach(() => {
  store.close();
});

describe('backUp()', () => {
  it('copies what is committed while a writer goes on', () => {
    const copied = backUp(at('store'), at('copy'));
    write(5001, 10);
    expect(copied).toEqual({ facts: 1, readings: 5000, head: store.head().hash, damagedBlocks: 0 });
    const copy = openStoreToRead(at('copy'));
    expect([copy.readingCount(), copy.brokenAt(), copy.damage()]).toEqual([5000, null, null]);
    copy.close();
    expect(readdirSync(folder).filter((name) => name.includes('part'))).toEqual([]);
  });

  it('leaves the logger behind that is at work on the store', () => {
    store.setLogger({ pid: process.pid, beat: NOW, now: NOW, speed: 1, state: 'logging' });
    backUp(at('store'), at('copy'));
    restore(at('copy'), at('new'));
    // A store's own file, too.
    restore(at('store'), at('from-store'));
    for (const name of ['copy', 'new', 'from-store']) {
      const copy = openStoreToRead(at(name));
      expect([copy.logger(), copy.damage()], name).toEqual([null, null]);
      copy.close();
    }
    // Negative control: it is on record where it is at work.
    expect(store.logger()).toMatchObject({ state: 'logging' });
  });

  it('never overwrites, and leaves nothing behind when it cannot write', () => {
    writeFileSync(at('copy'), 'mine');
    expect(() => backUp(at('store'), at('copy'))).toThrow(/copy exists, and nothing is overwritten/);
    expect(readFileSync(at('copy'), 'utf8')).toBe('mine');
    expect(() => backUp(at('store'), at('nowhere/copy'))).toThrow(/nowhere\/copy cannot be made: its folder/);
    expect(() => backUp(at('absent'), at('copy2'))).toThrow(/absent does not exist/);
    expect(existsSync(at('absent'))).toBe(false);
    expect(readdirSync(folder).filter((name) => name.startsWith('copy'))).toEqual(['copy']);
  });
});

describe('restore()', () => {
  it('gives back the same store, which can be written to', () => {
    backUp(at('store'), at('copy'));
    const restored = restore(at('copy'), at('new'));
    expect(restored).toEqual({
      facts: 1,
      readings: 5000,
      head: store.head().hash,
      damagedBlocks: 0,
      mayLack: false,
    });
    const again = openStoreToWrite(at('new'), NOW);
    expect(again.facts()).toEqual(store.facts());
    again.append(NOW, { type: 'probe-assigned', carrier: 'A' as never, slot: 1, rom, at: NOW });
    expect(again.brokenAt()).toBeNull();
    again.close();
  });

  it('restores from the file of a store in use, with what its write-ahead file holds', () => {
    // All of the readings are in that file still, or have come there since.
    expect(existsSync(at('store-wal'))).toBe(true);
    const restored = restore(at('store'), at('new'));
    expect(restored).toMatchObject({ facts: 1, readings: 5000, head: store.head().hash, mayLack: false });
  });

  it('restores from a copy of both files, and tells or refuses one whose write-ahead file was left behind', () => {
    for (const name of ['store', 'store-wal']) copyFileSync(at(name), at(name.replace('store', 'both')));
    expect(restore(at('both'), at('from-both'))).toMatchObject({ readings: 5000, mayLack: false });
    // The main file alone, as it was when the store was young: nothing was moved into it yet.
    const young = openStoreToWrite(at('young'), NOW);
    copyFileSync(at('young'), at('alone'));
    expect(() => restore(at('alone'), at('from-alone'))).toThrow(
      /alone holds nothing, not even its first entry; .* its alone-wal was left behind/,
    );
    expect(existsSync(at('from-alone'))).toBe(false);
    young.close();
    // And when a part of it was.
    store.append(NOW, { type: 'probe-assigned', carrier: 'A' as never, slot: 1, rom, at: NOW });
    const inUse = openSqlite(at('store'), 'write');
    inUse.get('PRAGMA wal_checkpoint(TRUNCATE)');
    inUse.close();
    write(5001, 10);
    copyFileSync(at('store'), at('older'));
    expect(restore(at('older'), at('from-older'))).toMatchObject({ readings: 5000, mayLack: true });
  });

  it('gives copies the mode that the umask leaves, for the group writes to the same store', () => {
    const before = process.umask(0o007);
    try {
      openStoreToWrite(at('shared'), NOW).close();
      backUp(at('store'), at('copy'));
      restore(at('copy'), at('new'));
    } finally {
      process.umask(before);
    }
    for (const name of ['shared', 'copy', 'new']) expect(statSync(at(name)).mode & 0o777, name).toBe(0o660);
    // Negative control: of a user who shares with nobody.
    const alone = process.umask(0o077);
    openStoreToWrite(at('private'), NOW).close();
    process.umask(alone);
    expect(statSync(at('private')).mode & 0o777).toBe(0o600);
  });

  it('refuses a place that is taken, also by what an earlier store left', () => {
    backUp(at('store'), at('copy'));
    expect(() => restore(at('copy'), at('store'))).toThrow(/store exists, and nothing is overwritten/);
    writeFileSync(at('new-wal'), 'old');
    expect(() => restore(at('copy'), at('new'))).toThrow(/new-wal is left of an earlier store/);
    expect(existsSync(at('new'))).toBe(false);
  });

  it.each([
    ['a page that was overwritten', (bytes: Buffer) => bytes.fill(0x55, 40_960, 45_056)],
    ['a fact that was changed', (bytes: Buffer) => bytes.write('2027', bytes.indexOf('"recorded":"') + 12)],
  ])('refuses a backup with %s', (_name, spoil) => {
    backUp(at('store'), at('copy'));
    const bytes = readFileSync(at('copy'));
    spoil(bytes);
    chmodSync(at('copy'), 0o600);
    writeFileSync(at('copy'), bytes);
    expect(() => restore(at('copy'), at('new'))).toThrow(/copy is damaged/);
    expect(existsSync(at('new'))).toBe(false);
  });
});
