import { spawnSync } from 'node:child_process';
import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { linuxOneWire } from '../../src/carrier/oneWire/linuxOneWire.js';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import { runLogger } from '../../src/logger/logger.js';
import { nextBoot } from '../../src/logger/nextBoot.js';
import { recordTo } from '../../src/logger/recordTo.js';
import { checkRecording, replay } from '../../src/logger/replay.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { type BoardId, parseCarrierId, parseRomId, type RomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { FakePorts, talkingBoard } from '../carrier/fakePorts.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { KernelTree } from '../carrier/oneWire/kernel.js';
import { ROMS } from '../carrier/wire/lines.js';

/** A real disk that is full, and sources without memory. What a board with one does is in end-to-end/diskOutage.test.ts. */
const DISK_BYTES = 16 * 1024 * 1024;
const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;
const [A, B] = ['A', 'B'].map((name) => parseCarrierId(name)!);
// ROM id that checks: published clone report, CC BY
const onBus = parseRomId('28-13-9B-BB-0B-00-00-1F')!;
const onBoard = parseRomId(ROMS[0])!;
const MINUTE = 60_000;

const mount = (at: string) =>
  spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${DISK_BYTES}`, 'tmpfs', at]).status === 0;
function whyNoDisk(): string | null {
  if (process.env['CI'] === 'true') return null;
  const at = mkdtempSync(join(tmpdir(), 'stillwarm-mount-'));
  const isMounted = mount(at);
  if (isMounted) spawnSync('umount', [at]);
  rmSync(at, { recursive: true });
  return isMounted ? null : 'needs to mount a disk in memory (root)';
}

let disk: string;
let elsewhere: string;
let store: Store;
let clock: VirtualClock;
let ports: FakePorts;
let tree: KernelTree;
let said: string[];
let stop: AbortController;
let alive: { at: number; why: string | null }[];
let running: Promise<unknown>;
beforeEach(() => {
  disk = mkdtempSync(join(tmpdir(), 'stillwarm-full-'));
  elsewhere = mkdtempSync(join(tmpdir(), 'stillwarm-beside-'));
  clock = new VirtualClock(utcMs(Date.UTC(2026, 4, 12, 12)));
  ports = new FakePorts(clock);
  tree = new KernelTree(clock);
  said = [];
  stop = new AbortController();
  alive = [];
});
afterEach(async () => {
  stop.abort();
  await clock.run(clock.monotonic() + MINUTE);
  await running;
  store.close();
  tree.discard();
  spawnSync('umount', ['-l', disk]);
  rmSync(disk, { recursive: true });
  rmSync(elsewhere, { recursive: true });
});

/** Fills the disk to its last byte; makes room again when it is called. */
function fill(): () => void {
  const path = join(disk, 'films');
  const films = openSync(path, 'a');
  for (const size of [65_536, 512, 1]) {
    try {
      for (;;) writeSync(films, Buffer.alloc(size, 1));
    } catch (error) {
      expect((error as NodeJS.ErrnoException).code).toBe('ENOSPC');
    }
  }
  closeSync(films);
  return () => rmSync(path);
}
async function begin(whenUnwritable: 'end' | 'wait'): Promise<void> {
  expect(mount(disk)).toBe(true);
  store = openStoreToWrite(join(disk, 'x.sqlite'), clock.utc());
  let read = 300;
  tree.add({
    rom: onBus,
    convert: () => {
      read += 1;
      return ds18b20(read);
    },
  });
  ports.plugIn('/dev/one', talkingBoard(clock, { boot: 1, rom: ROMS[0] }));
  const parts = { clock, nextBoot: (board: BoardId) => nextBoot(store, board) };
  const sources = [
    { source: serialBoard('/dev/one', clock, ports.access), carrier: A! },
    { source: linuxOneWire({ ...parts, folder: tree.root, files: tree.files() }), carrier: B! },
  ];
  for (const { source } of sources) await source.open();
  const say = (sentence: string, source = '') => said.push(`${source}: ${sentence}`);
  const recording = recordTo(join(elsewhere, 'day.jsonl'), store.path, () => {});
  running = runLogger({
    store,
    sources,
    clock,
    pid: process.pid,
    say,
    signal: stop.signal,
    whenUnwritable,
    recording,
    onAlive: (outage) => alive.push({ at: clock.monotonic(), why: outage?.why ?? null }),
  }).catch((error: unknown) => error);
}
const times = (rom: RomId, from = store) => from.readings(rom, ...ALL).map(({ utc }) => utc);
const factsOf = (type: string) => store.facts().flatMap(({ fact }) => (fact.type === type ? [fact] : []));
const longestPause = (at: readonly number[]) =>
  Math.max(...at.slice(1).map((each, index) => each - at[index]!));

describe.skipIf(whyNoDisk())(`a logger on a disk that is full ${whyNoDisk() ?? ''}`, () => {
  it('goes on when there is room; what sources without memory measured meanwhile is a gap, which is said', async () => {
    await begin('wait');
    await clock.run(2 * MINUTE);
    const makeRoom = fill();
    // What is written goes into room that SQLite has already, for a while.
    await clock.run(25 * MINUTE);
    const before = [onBus, onBoard].map((rom) => times(rom).length);
    const full = said.filter((sentence) => sentence.includes('NOTHING CAN BE STORED;'));
    expect(full).toHaveLength(1);
    expect(full[0]).toMatch(/what other sources measure until then is a gap: .* the disk is full; make room/);
    expect(said.at(-1)).toMatch(/NOTHING CAN BE STORED \(.*\), of what comes: in 5 min \/dev\/one 30 scans/);
    expect(store.logger()?.beat).toBeLessThan(clock.utc() - MINUTE);
    // It lives, and it is known why it cannot store: a watchdog is fed.
    expect(alive.at(-1)).toEqual({ at: clock.monotonic(), why: 'full' });
    expect(longestPause(alive.map(({ at }) => at))).toBe(2000);
    // It is plugged in again, and nothing of that can be stored.
    ports.unplug('/dev/one');
    ports.plugIn('/dev/one', talkingBoard(clock, { boot: 2, rom: ROMS[0] }));
    await clock.run(28 * MINUTE);
    expect([onBus, onBoard].map((rom) => times(rom).length)).toEqual(before);
    expect(factsOf('board-booted')).toHaveLength(2);

    makeRoom();
    const freed = clock.utc();
    await clock.run(33 * MINUTE);
    expect(store.logger()?.beat).toBeGreaterThan(clock.utc() - 5000);
    expect(
      said.filter((sentence) => /stored again, after \d+ s in which nothing was/.test(sentence)),
    ).toHaveLength(1);
    expect(
      said.filter((sentence) => /it has no memory: \d+ scans of that time are gone, a gap/.test(sentence)),
    ).toHaveLength(2);
    for (const rom of [onBus, onBoard]) {
      const after = times(rom).filter((at) => at > freed);
      expect(after.length).toBeGreaterThan(20);
      // Within the longest pause between two tries.
      expect(after[0]! - freed).toBeLessThan(75_000);
      expect(longestPause(after)).toBeLessThan(15_000);
      expect(longestPause(times(rom))).toBeGreaterThan(4 * MINUTE);
    }
    // The boot that began meanwhile is on record, with its probes.
    expect(factsOf('board-booted')).toHaveLength(3);
    expect(factsOf('probes-found')).toContainEqual(
      expect.objectContaining({ boot: 2, board: expect.any(String) }),
    );
    const unstored = factsOf('nothing-stored');
    expect(unstored).toHaveLength(2);
    for (const fact of unstored)
      expect(fact).toMatchObject({ why: 'full', hasMemory: false, scans: expect.any(Number) });
    expect(store.brokenAt()).toBeNull();

    // What was recorded to another disk has all of it.
    stop.abort();
    await clock.run(34 * MINUTE);
    await running;
    const whole = openStoreToWrite(join(elsewhere, 'y.sqlite'), clock.utc());
    await replay(await checkRecording(join(elsewhere, 'day.jsonl')), whole, () => {});
    for (const rom of [onBus, onBoard]) expect(longestPause(times(rom, whole))).toBeLessThan(30_000);
    whole.close();
  });

  it('ends with the refusal when it is not to wait (control)', async () => {
    await begin('end');
    await clock.run(2 * MINUTE);
    fill();
    await clock.run(25 * MINUTE);
    expect(String(await running)).toMatch(/cannot grow, the disk is full; make room/);
  });
});
