import { execFileSync } from 'node:child_process';
import { closeSync, existsSync, openSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { kindOfFile } from '../../src/store/header.js';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { parseVisitId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const NOON = utcMs(Date.UTC(2026, 4, 12, 12));
const STORE = new URL('../../.build/src/store/store.js', import.meta.url).href;

let path: string;
eachInNewFolder((folder) => {
  path = join(folder, 'season.sqlite');
});

/** Another process opens the store, does something with it, and gives what it found. */
const elsewhere = (script: string): string =>
  execFileSync(
    process.execPath,
    ['--input-type=module', '-e', `const { openStoreToWrite } = await import('${STORE}');${script}`],
    { encoding: 'utf8' },
  ).trim();
const openAndClose = () => elsewhere(`openStoreToWrite('${path}', ${NOON}).close();`);
const factsElsewhere = () => {
  const script = `process.stdout.write(String(openStoreToWrite('${path}', ${NOON}).head().count));`;
  return Number(elsewhere(script));
};
/** A process that closes a store without ever having read from it leaves no file open. */
const create = () => elsewhere(`openStoreToWrite('${path}', ${NOON});`);

/** Reads as a command does to know the time, then writes, while another command comes and goes. */
function recordedBesideAnother(between: () => void): number {
  const reader = openStoreToRead(path);
  reader.logger();
  reader.close();
  const store = openStoreToWrite(path, NOON);
  between();
  openAndClose();
  store.append(NOON, { type: 'visit-closed', visit: parseVisitId('v1')!, at: NOON });
  const own = store.head().count;
  store.close();
  return own;
}

describe('kindOfFile()', () => {
  it('leaves the locks of this process alone: what it records beside another process is there', () => {
    create();
    const own = recordedBesideAnother(() => expect(kindOfFile(path)).toBe('store'));
    expect(factsElsewhere()).toBe(own);
  });

  // Negative control: what closing a descriptor does to a store in use.
  it('would lose what is recorded, if it closed the file it looked at', () => {
    create();
    const own = recordedBesideAnother(() => closeSync(openSync(path, 'r')));
    expect(existsSync(path)).toBe(true);
    expect(factsElsewhere()).toBe(own - 1);
  });

  it('tells a file that took the place of another under the same name', () => {
    create();
    expect(kindOfFile(path)).toBe('store');
    rmSync(path);
    expect(kindOfFile(path)).toBe('absent');
    closeSync(openSync(path, 'w'));
    expect(kindOfFile(path)).toBe('empty');
  });
});
