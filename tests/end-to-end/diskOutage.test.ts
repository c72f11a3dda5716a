import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import {
  closeSync,
  copyFileSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  truncateSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/store.js';
import { lookInto } from '../store/lookInto.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { type BoardOnCable, boardOnCable } from './boardOnCable.js';
import { memoryDisk, whyNoDisk } from './disks.js';
import { acknowledged, faults, felt, gaps, roms } from './nothingLost.js';
import { PROGRAM, start, stillwarm, until } from './program.js';
import { screenShows } from './screenShows.js';

/** A disk that fills up, or becomes read-only, under a logger that goes on running, and a board that keeps its scans meanwhile. */
/** Above what the store's files come to. */
const DISK_BYTES = 16 * 1024 * 1024;
const ALONE_MS = 20 * 60_000;
/** A scan comes at least so often. */
const SCANS_WITHIN_MS = 21_000;

let folder: string;
let disk: string;
let store: string;
let board: BoardOnCable | undefined;
let logger: ChildProcess | undefined;
eachInNewFolder((fresh) => {
  folder = fresh;
  disk = join(folder, 'disk');
  mkdirSync(disk);
  store = join(disk, 'season.sqlite');
});
afterEach(() => {
  logger?.kill('SIGKILL');
  board?.off();
  board = undefined;
  spawnSync('umount', ['-l', disk]);
});

const run = (program: string, ...args: string[]) => spawnSync(program, args, { encoding: 'utf8' });
const smallDisk = memoryDisk(DISK_BYTES);
/** A disk that the kernel makes read-only when it finds an error on it, as most are mounted. */
const fragileDisk = (at: string) => {
  const image = `${at}.img`;
  writeFileSync(image, '');
  truncateSync(image, DISK_BYTES);
  return (
    run('mkfs.ext4', '-q', image).status === 0 &&
    run('mount', '-o', 'loop,errors=remount-ro', image, at).status === 0
  );
};

const inStore = <T>(look: (opened: Store) => T): T => lookInto(store, look);
const readings = () => inStore((opened) => opened.readingCount());
const whole = () => inStore((opened) => [...faults(opened, acknowledged(board!)), ...gaps(opened)]);
const plugIn = async () => {
  board = await boardOnCable({ folder, roms, temperature: felt, aloneMs: ALONE_MS, reset: false });
};
const openVisit = async () =>
  expect(
    (await stillwarm('visit', 'open', 'v1', '--yard', 'y1', '--zone', 'UTC', '--store', store)).code,
  ).toBe(0);
async function checkupSays(what: RegExp): Promise<void> {
  let said = '';
  for (let tries = 0; tries < 200 && !what.test(said); tries += 1) {
    if (tries > 0) await new Promise((resolve) => setTimeout(resolve, 300));
    said = (await stillwarm('checkup', '--store', store)).out;
  }
  expect(said).toMatch(what);
}

/** Starts a logger as `watch` does, with its words in a file beside the store; gives what it has said by now. */
function logging(): () => string {
  const words = `${store}.log`;
  const err = openSync(words, 'a');
  logger = spawn(process.execPath, [PROGRAM, 'log', '--store', store, '--port', `${board!.hostEnd}=A`], {
    stdio: ['ignore', 'ignore', err],
  });
  closeSync(err);
  return () => readFileSync(words, 'utf8');
}
async function stopped(): Promise<number | null> {
  logger!.kill('SIGTERM');
  if (logger!.exitCode === null) await once(logger!, 'close');
  return logger!.exitCode;
}
const isRunning = () => logger!.exitCode === null && logger!.signalCode === null;
function fill(): void {
  const films = openSync(join(disk, 'films'), 'a');
  try {
    for (;;) writeSync(films, Buffer.alloc(1024, 1));
  } catch (error) {
    expect((error as NodeJS.ErrnoException).code).toBe('ENOSPC');
  }
  closeSync(films);
}

const noTmpfs = whyNoDisk(smallDisk);
describe.skipIf(noTmpfs)(`a disk that fills up under a logger ${noTmpfs ?? ''}`, () => {
  it('is outlived: nothing is acknowledged meanwhile, all is said, and everything is there once there is room', async () => {
    expect(smallDisk(disk)).toBe(true);
    await plugIn();
    await openVisit();
    const words = logging();
    await until('the log was read', () => words().includes('is open') && readings() > roms.length * 40, 60);
    fill();
    await screenShows(store, 'the disk is full: make room');
    expect(isRunning()).toBe(true);
    await checkupSays(
      /BAD +logger +process \d+ is there, and has stored nothing since .*: the disk is full\./,
    );
    // It is there all the same.
    const second = await stillwarm('log', '--store', store, '--port', `${board!.hostEnd}=A`);
    expect(second).toMatchObject({ code: 1, err: expect.stringContaining('already has a logger') });
    const kept = readings();
    const before = board!.ms();
    await until('the board has scanned', () => board!.ms() > before + SCANS_WITHIN_MS, 60);
    // Negative control: without what the board keeps there is a hole.
    expect(readings()).toBe(kept);
    expect(inStore((opened) => [opened.brokenAt(), opened.damage()])).toEqual([null, null]);
    inStore((opened) => expect(faults(opened, acknowledged(board!))).toEqual([]));

    rmSync(join(disk, 'films'));
    await until('it is stored again', () => readings() > kept + roms.length, 120);
    expect(isRunning()).toBe(true);
    await checkupSays(/ok +logger +at work/);
    // What could not be written beside the store was written when there was room, once.
    const lines = words().split('\n');
    const told = lines.filter((line) => line.includes('NOTHING CAN BE STORED'));
    expect(told).toHaveLength(1);
    expect(told[0]).toMatch(/cannot grow, the disk is full; make room, nothing that was recorded is lost\.$/);
    expect(lines.filter((line) => /stored again, after \d+ s/.test(line))).toHaveLength(1);
    expect(words()).toContain('its scans of that time are read from its memory');
    expect(words()).not.toMatch(/at .*\.js:\d+|Error:|SQLITE/);
    expect(inStore((opened) => opened.facts().map(({ fact }) => fact))).toContainEqual(
      expect.objectContaining({ type: 'nothing-stored', why: 'full', hasMemory: true }),
    );
    expect(await stopped()).toBe(0);
    const end = await stillwarm('sync', '--store', store, '--port', `${board!.hostEnd}=A`);
    expect(end).toMatchObject({ code: 0, err: expect.not.stringContaining('cannot') });
    expect(whole()).toEqual([]);
  });
});

describe.skipIf(noTmpfs)(`a disk that is full when a logger starts ${noTmpfs ?? ''}`, () => {
  it('is waited for by log, which begins by itself; watch refuses, for somebody is there to make room', async () => {
    expect(smallDisk(disk)).toBe(true);
    await plugIn();
    await openVisit();
    // What SQLite has in its write-ahead file can be written over on a full disk.
    expect((await stillwarm('backup', '--out', `${store}.copy`, '--store', store)).code).toBe(0);
    for (const end of ['', '-wal', '-shm']) rmSync(store + end, { force: true });
    renameSync(`${store}.copy`, store);
    fill();
    // Negative control: nobody waits yet.
    await checkupSays(/BAD +logger +none is at work, and the disk is full; one that waits/);
    const port = ['--store', store, '--port', `${board!.hostEnd}=A`];
    const refused = await stillwarm('watch', ...port);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(
      /^No logger was started, for the disk of .* is full: make room, then run this again/,
    );
    logger = start('log', ...port);
    let words = '';
    logger.stderr!.on('data', (text: Buffer) => {
      words += text.toString();
    });
    await until('it says so', () => words.includes('logging has not begun'), 60);
    expect(words.split('\n').filter((line) => line.includes('NOTHING CAN BE STORED'))).toHaveLength(1);
    expect(words).toMatch(
      /it begins by itself .*: \S+season\.sqlite cannot grow, the disk is full; make room/,
    );
    expect(words).not.toMatch(/at .*\.js:\d+|Error:|SQLITE| is open/);
    await checkupSays(new RegExp(`BAD +logger +process ${logger!.pid} waits to begin: the disk is full`));
    const before = board!.ms();
    await until('the board has scanned', () => board!.ms() > before + SCANS_WITHIN_MS, 60);
    // Negative control: it stored nothing.
    expect(readings()).toBe(0);
    rmSync(join(disk, 'films'));
    await until('what the board kept is there', () => readings() > roms.length * 40, 120);
    expect(words).toMatch(/logging begins, after \d+ s of waiting/);
    expect(await stopped()).toBe(0);
    const end = await stillwarm('sync', ...port);
    expect(end).toMatchObject({ code: 0, err: expect.not.stringContaining('cannot') });
    expect(whole()).toEqual([]);
  }, 300_000);

  /** Starts a logger that cannot begin; gives what it says of that. */
  async function wordsOfWaiting(): Promise<string> {
    logger = start('log', '--store', store, '--one-wire', folder);
    let words = '';
    logger.stderr!.on('data', (text: Buffer) => {
      words += text.toString();
    });
    await until('it says so', () => words.includes('logging has not begun'), 60);
    return words;
  }

  it('is called full, too, when the index of the write-ahead file cannot be made there', async () => {
    expect(smallDisk(disk)).toBe(true);
    // As a logger that was killed leaves it, its computer started anew.
    const module = new URL('../../.build/src/store/store.js', import.meta.url).href;
    const script = `const { openStoreToWrite } = await import('${module}');
      openStoreToWrite('${store}', 0).append(0, { type: 'visit-closed', visit: 'v1', at: 0 });
      process.kill(process.pid, 'SIGKILL');`;
    expect(run(process.execPath, '--input-type=module', '-e', script).signal).toBe('SIGKILL');
    rmSync(`${store}-shm`);
    expect(readdirSync(disk).sort()).toEqual(['season.sqlite', 'season.sqlite-wal']);
    fill();
    const words = await wordsOfWaiting();
    expect(words).toMatch(/season\.sqlite cannot grow, the disk is full; make room/);
    expect(words).not.toContain('another disk');
    expect(await stopped()).toBe(0);
  }, 60_000);

  it('is waited for before there is a store, and stopping it then leaves nothing behind', async () => {
    expect(smallDisk(disk)).toBe(true);
    fill();
    const words = await wordsOfWaiting();
    expect(words).toMatch(/season\.sqlite cannot be made, the disk is full; make room\./);
    expect(await stopped()).toBe(0);
    expect(readdirSync(disk)).toEqual(['films']);
    // Negative control: a folder that is not there will not come by waiting.
    const nowhere = await stillwarm('log', '--store', join(folder, 'none', 'x'), '--one-wire', folder);
    expect(nowhere).toMatchObject({ code: 1, err: expect.stringContaining('check that its folder exists') });
  }, 60_000);
});

const noExt4 = whyNoDisk(fragileDisk);
describe.skipIf(noExt4)(`a disk that becomes read-only under a logger ${noExt4 ?? ''}`, () => {
  it('is outlived and said; stopped, and started on the mended disk, the logger has everything', async () => {
    expect(fragileDisk(disk)).toBe(true);
    const device = run('losetup', '-j', `${disk}.img`).stdout.split(':')[0]!;
    await plugIn();
    await openVisit();
    logging();
    await until('the log was read', () => readings() > roms.length * 40, 60);
    // linux/Documentation/ABI/testing/sysfs-fs-ext4: as if the kernel had met an error on the disk.
    writeFileSync(`/sys/fs/ext4/${basename(device)}/trigger_fs_error`, 'a test');
    await checkupSays(/has stored nothing since .*: the disk is read-only\./);
    expect(isRunning()).toBe(true);
    await screenShows(store, 'the disk is read-only: make the disk writable');
    const kept = readings();
    const before = board!.ms();
    await until('the board has scanned', () => board!.ms() > before + SCANS_WITHIN_MS, 60);
    expect(readings()).toBe(kept);
    expect(await stopped()).toBe(0);

    // A copy: this test has looked into the store, and SQLite's driver keeps what it opened.
    const mended = `${disk}-mended.img`;
    expect(run('umount', '-l', disk).status).toBe(0);
    copyFileSync(`${disk}.img`, mended);
    // 1: what was wrong was mended, e2fsck(8).
    expect([0, 1]).toContain(run('e2fsck', '-fy', mended).status);
    expect(run('mount', '-o', 'loop', mended, disk).status).toBe(0);
    expect(readings()).toBe(kept);
    const end = await stillwarm('sync', '--store', store, '--port', `${board!.hostEnd}=A`);
    expect(end).toMatchObject({ code: 0, err: expect.not.stringContaining('cannot') });
    expect(readings()).toBeGreaterThan(kept + roms.length);
    expect(whole()).toEqual([]);
  });
});
