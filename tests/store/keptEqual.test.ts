import { existsSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { backUp, restore } from '../../src/store/backup.js';
import { keptEqualFolder, type Place } from '../../src/store/keptEqual.js';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { run } from '../cli/run.js';
import { NINE } from './invented.js';

let root: string;
let store: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'stillwarm-equal-'));
  store = join(root, 'lab', 'bees', 'season.sqlite');
  mkdirSync(dirname(store), { recursive: true });
});
afterEach(() => rmSync(root, { recursive: true }));
const file = (name: string) => {
  mkdirSync(dirname(join(root, name)), { recursive: true });
  writeFileSync(join(root, name), '');
};

// What such programs leave, from their documentation and from memory; .sync/ID: docs of its maker, "What is .sync directory".
const MARKS = [
  'lab/.stfolder/x',
  'lab/.stfolder',
  'lab/bees/.sync/ID',
  'lab/.sync_0f3ac91b77de.db',
  'lab/._sync_0f3ac91b77de.db',
  'lab/.dropbox.cache/x',
  'lab/.tmp.driveupload/x',
  'lab/.tmp.drivedownload/x',
];
/** Alike, and no such thing. */
const OTHERS = [
  'lab/.sync/config',
  'lab/sync_0f3ac91b77de.db',
  'lab/.dropbox/info',
  'lab/stfolder',
  'other/.stfolder',
];

describe('a folder that a program keeps equal on several computers', () => {
  it.each(MARKS)('is known by %s, at the store or above', (mark) => {
    file(mark);
    const folder = join(root, mark.startsWith('lab/bees') ? 'lab/bees' : 'lab');
    expect(() => openStoreToWrite(store, NINE)).toThrow(
      `${store} lies in ${folder}, a folder that a program keeps equal on several computers, where a store gets damaged; keep it in another folder, and put copies there with backup.`,
    );
    expect(existsSync(store)).toBe(false);
  });

  it.each(OTHERS)('is not taken for one because of %s (negative control)', (name) => {
    file(name);
    openStoreToWrite(store, NINE).close();
    expect(existsSync(store)).toBe(true);
  });

  it('is found behind a link, to the folder or to the store itself', () => {
    openStoreToWrite(store, NINE).close();
    symlinkSync(join(root, 'lab'), join(root, 'link'));
    symlinkSync(store, join(root, 'season.sqlite'));
    for (const name of ['link/bees/season.sqlite', 'link/bees/new.sqlite', 'season.sqlite']) {
      expect(keptEqualFolder(join(root, name))).toBeNull();
      file('lab/.stfolder');
      expect(keptEqualFolder(join(root, name))).toBe(join(root, 'lab'));
      rmSync(join(root, 'lab/.stfolder'));
    }
  });

  it('may hold a store that is read, and backups; checkup tells', async () => {
    openStoreToWrite(store, NINE).close();
    expect((await run(['checkup', '--store', store])).out).not.toContain('keeps equal');
    file('lab/.stfolder');
    openStoreToRead(store).close();
    expect(backUp(store, join(root, 'lab', 'copy.sqlite')).facts).toBe(1);
    const { code, out } = await run(['checkup', '--store', store]);
    expect(code).toBe(3);
    expect(out).toMatch(
      /BAD +disk +.* a folder that a program keeps equal on several computers; nothing is written there/,
    );
  });

  it('takes backups and gives them, and no store is restored there', () => {
    const made = join(root, 'made.sqlite');
    openStoreToWrite(made, NINE).close();
    file('lab/.stfolder');
    const copy = join(root, 'lab', 'copy.sqlite');
    expect(backUp(made, copy).facts).toBe(1);
    expect(() => restore(copy, store)).toThrow(
      /season\.sqlite lies in \S+lab, a folder that a program keeps equal/,
    );
    expect(existsSync(store)).toBe(false);
    // Negative control: elsewhere it is.
    expect(restore(copy, join(root, 'new.sqlite')).facts).toBe(1);
  });

  // Where systems put them: from memory; the variable of Windows: pages on it. Neither was tried there.
  const nowhere: Omit<Place, 'platform'> = { env: {}, names: () => [], real: (path) => path };
  it.each([
    ['darwin', '/Users/a/Library/Mobile Documents/com~x/s', '/Users/a/Library/Mobile Documents'],
    ['darwin', '/Users/a/Library/CloudStorage/X-a/s', '/Users/a/Library/CloudStorage'],
    ['darwin', '/Users/a/Library/Application Support/s', null],
    ['linux', '/home/a/Library/CloudStorage/X-a/s', null],
  ])('is known on %s by the path %s', (platform, path, folder) => {
    expect(keptEqualFolder(path, { ...nowhere, platform })).toBe(folder);
  });

  it.each([
    ['C:\\Users\\A\\Cloud\\bees\\s', 'C:\\Users\\A\\Cloud'],
    ['c:\\users\\a\\cloud\\s', 'C:\\Users\\A\\Cloud'],
    ['C:\\Users\\A\\Clouds\\s', null],
    ['D:\\bees\\s', null],
  ])('is known on Windows by the variable that names it: %s', (path, folder) => {
    const place = { ...nowhere, platform: 'win32', env: { OneDrive: 'C:\\Users\\A\\Cloud' } };
    expect(keptEqualFolder(path, place)).toBe(folder);
    expect(keptEqualFolder(path, { ...place, env: {} })).toBeNull();
  });
});
