import { type ChildProcess, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, existsSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/store.js';
import { lookInto } from '../store/lookInto.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { type BoardOnCable, boardOnCable } from './boardOnCable.js';
import { memoryDisk, whyNoDisk } from './disks.js';
import { faults, felt, gaps, roms } from './nothingLost.js';
import { type Run, start, stillwarm, until } from './program.js';
import { screenShows } from './screenShows.js';

/** Disks and files that fail under the program as it is run, and a board that keeps its scans meanwhile. */
const DISK_BYTES = 512 * 1024;
const ALONE_MS = 20 * 60_000;
const READ_ONLY = /cannot be (opened|written); check .*read-only/;

let folder: string;
let disk: string;
let store: string;
let board: BoardOnCable | undefined;
let logger: ChildProcess | undefined;
eachInNewFolder((fresh) => {
  folder = fresh;
  disk = mkdtempSync(join(folder, 'disk-'));
  store = join(disk, 'season.sqlite');
});
afterEach(() => {
  logger?.kill('SIGKILL');
  board?.off();
  board = undefined;
  spawnSync('umount', ['-l', disk]);
});

const mount = (...args: string[]) => spawnSync('mount', args, { encoding: 'utf8' });
const inStore = <T>(look: (opened: Store) => T): T => lookInto(store, look);
const whole = () => inStore((opened) => [...faults(opened, 0), ...gaps(opened)]);
const readings = () => inStore((opened) => opened.readingCount());
const plugIn = async () => {
  board = await boardOnCable({ folder, roms, temperature: felt, aloneMs: ALONE_MS, reset: false });
};
const sync = () => stillwarm('sync', '--store', store, '--port', `${board!.hostEnd}=A`);
const open = (visit: string) =>
  stillwarm('visit', 'open', visit, '--yard', 'y1', '--zone', 'UTC', '--store', store);

/** Starts a logger and gives what it has said when it ends, within a minute. */
function logging(): { words: () => string; ended: Promise<Run> } {
  const child = start('log', '--store', store, '--port', `${board!.hostEnd}=A`);
  logger = child;
  let err = '';
  child.stderr!.on('data', (text: Buffer) => {
    err += text.toString();
  });
  const ended = once(child, 'close').then(([code]) => ({ code: code as number | null, out: '', err }));
  return { words: () => err, ended };
}

/** One sentence about the store, and nothing of the program's inside; what is said of safety comes before. */
function oneSentence({ code, err }: Pick<Run, 'code' | 'err'>, what: RegExp): void {
  expect(code).toBe(1);
  const about = err.split('\n').filter((line) => line.includes(store));
  expect(about).toHaveLength(1);
  expect(about[0]).toMatch(what);
  expect(err).not.toMatch(/at .*\.js:\d+|Error:|SQLITE/);
}

const noDisk = whyNoDisk(memoryDisk(DISK_BYTES));
describe.skipIf(noDisk)(`a disk that may only be read ${noDisk ?? ''}`, () => {
  it('is told in one sentence by logger, command and screen; the board keeps its scans', async () => {
    await plugIn();
    expect(await sync()).toMatchObject({ code: 0 });
    const before = readings();
    // The same folder a second time, to be read only.
    const view = mkdtempSync(join(folder, 'view-'));
    expect(mount('--bind', disk, view).status).toBe(0);
    const [there, here] = [join(view, 'season.sqlite'), store];
    try {
      expect(mount('-o', 'remount,bind,ro', view).status).toBe(0);
      store = there;
      const { words, ended } = logging();
      await until('it says so', () => words().includes('logging has not begun'));
      oneSentence(await open('v2'), READ_ONLY);
      // It waits, and begins when it can.
      expect(mount('-o', 'remount,bind,rw', view).status).toBe(0);
      await until('it begins', () => words().includes('logging begins, after'), 90);
      logger!.kill('SIGTERM');
      const { code, err } = await ended;
      expect(code).toBe(0);
      oneSentence({ code: 1, err }, READ_ONLY);
      expect(mount('-o', 'remount,bind,ro', view).status).toBe(0);
      oneSentence(await open('v1'), READ_ONLY);
      // What only reads goes on as long as the files beside the store are there.
      expect(await screenShows(store, 'stillwarm')).not.toContain('Error');
    } finally {
      spawnSync('umount', ['-l', view]);
      store = here;
    }
    expect(readings()).toBe(before);
    await until('the board has more', () => board!.ms() > ALONE_MS + 30_000, 60);
    expect(await sync()).toMatchObject({ code: 0 });
    expect(readings()).toBeGreaterThan(before);
    expect(whole()).toEqual([]);
  });
});

describe.skipIf(whyNot('socat'))(`a file that is damaged ${whyNot('socat') ?? ''}`, () => {
  /** A store that holds what the board had, and which no process has open: a copy. */
  async function filled(): Promise<void> {
    await plugIn();
    expect((await open('v1')).code).toBe(0);
    expect(await sync()).toMatchObject({ code: 0 });
  }
  /** Takes the files as they stand, changes bytes in one of them, and gives the program the result. */
  function damaged(end: string, change: (bytes: Buffer) => void): Buffer {
    const copy = join(folder, 'damaged.sqlite');
    for (const each of ['', '-wal']) if (existsSync(store + each)) copyFileSync(store + each, copy + each);
    store = copy;
    const bytes = readFileSync(copy + end);
    change(bytes);
    writeFileSync(copy + end, bytes);
    return bytes;
  }
  async function allRefuse(what: RegExp, screen: string): Promise<void> {
    oneSentence(await logging().ended, what);
    oneSentence(await open('v2'), what);
    oneSentence(await stillwarm('visit', 'result', 'v1', '--store', store), what);
    expect(await screenShows(store, screen)).not.toMatch(/at .*\.js:\d+/);
  }

  it('in its first bytes is refused by logger, command and screen, and left as it is', async () => {
    await filled();
    const bytes = damaged('', (file) => file.fill(0x55, 0, 16));
    await allRefuse(/is not a stillwarm store but another kind of file/, 'another kind of file');
    expect(readFileSync(store)).toEqual(bytes);
  });

  it('of a newer version is refused by logger, command and screen, and left as it is', async () => {
    await filled();
    // The user version lies at byte 60 of the header: sqlite.org/fileformat.html, 1.3.
    const bytes = damaged('', (file) => file.writeUInt32BE(99, 60));
    await allRefuse(/was written by a newer stillwarm \(store version 99/, 'written by a newer stillwarm');
    expect(readFileSync(store)).toEqual(bytes);
  });

  it('in a page of its facts is refused by logger, command and screen', async () => {
    await filled();
    const copied = await stillwarm('backup', '--out', join(folder, 'whole.sqlite'), '--store', store);
    expect(copied.code).toBe(0);
    store = join(folder, 'whole.sqlite');
    damaged('', (file) => file.fill(0x55, 4096, 8192));
    await allRefuse(
      /is damaged(; keep the file as it is and go on with a copy| \(.*\), and nothing was written to it: keep the file)/,
      'is damaged; keep the file',
    );
    expect((await stillwarm('checkup', '--store', store)).out).toMatch(/BAD .*damaged/);
  });

  it('in its write-ahead file opens with what came before; the board gives its scans again', async () => {
    await plugIn();
    expect((await open('v1')).code).toBe(0);
    const first = logging();
    await until('the log is read', () => readings() > (roms.length * ALONE_MS) / 25_000, 90);
    logger!.kill('SIGKILL');
    await first.ended;
    const before = readings();
    damaged('-wal', (file) => file.fill(0x55, file.length / 2, file.length / 2 + 64));
    // Negative control: some of it is gone.
    expect(readings()).toBeLessThan(before);
    expect(inStore((opened) => [opened.brokenAt(), opened.damage()])).toEqual([null, null]);
    expect(await sync()).toMatchObject({ code: 0 });
    expect(readings()).toBeGreaterThanOrEqual(before);
    expect(whole()).toEqual([]);
    expect((await stillwarm('visit', 'result', 'v1', '--store', store)).code).toBe(0);
  });
});
