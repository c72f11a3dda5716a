import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { linuxOneWire } from '../../src/carrier/oneWire/linuxOneWire.js';
import { openStoreToRead, openStoreToWrite, type Store } from '../../src/store/store.js';
import { crc8, parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { KernelTree } from '../carrier/oneWire/kernel.js';
import { type Logging, logging } from '../logger/logging.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { crewTypes } from './crewTypes.js';

/** A whole exposure as a crew records it, on a source that has only this computer's clocks. */
const START = utcMs(Date.UTC(2026, 4, 12, 12));
const HOURS_36 = minutes(36 * 60);
/** In the pattern of genuine ROM ids. */
const seven = [0x28, 0x13, 0x9b, 0xbb, 0x0b, 0, 0];
const rom = parseRomId([...seven, crc8(seven)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;

let folder: string;
let path: string;
let clock: VirtualClock;
let tree: KernelTree;
let store: Store;
let logger: Logging;
eachInNewFolder(async (fresh) => {
  folder = fresh;
  path = join(folder, 'x.sqlite');
  clock = new VirtualClock(START);
  tree = new KernelTree(clock);
  tree.add({ rom, convert: () => ds18b20(26 * 16, tree.alarms.get(rom)) });
  store = openStoreToWrite(path, START);
  const source = linuxOneWire({ clock, folder: tree.root, files: tree.files(), nextBoot: () => 1 });
  logger = await logging(store, clock, [{ source, carrier: parseCarrierId('A') }]);
  writeFileSync(
    join(folder, 'short.json'),
    '{"exposureMinutes":40,"exposureMinutesMin":35,"exposureMinutesMax":45}',
  );
});
afterEach(async () => {
  await logger.stop();
  store.close();
  tree.discard();
});

const crew = (words: string) => crewTypes(words, path, clock);
/** Two beats of the logger later. */
const aMoment = () => clock.pass(5_000);

/** Opens, loads and seats at 2 min, turns at 42 min; what happens in between is the test's business. */
async function exposure(meanwhile: readonly [atMs: number, does: () => void][]) {
  await clock.run(minutes(1));
  await crew(`visit open v1 --yard y1 --zone UTC --rules ${join(folder, 'short.json')}`);
  await crew(`probe assign A:1 ${rom}`);
  await clock.run(minutes(2));
  await crew('cup load C-1');
  await crew('cup seat C-1 A:1');
  let slept = 0;
  for (const [atMs, does] of meanwhile) {
    await clock.run(minutes(atMs));
    const before = clock.passed - clock.monotonic();
    does();
    slept += clock.passed - clock.monotonic() - before;
    await aMoment();
  }
  await clock.run(minutes(42) - slept);
  await crew('cup turn C-1');
  await aMoment();
  const out = await crew('visit result v1 --json');
  return (
    JSON.parse(out) as { rulings: { cups: { ruling: string; exposureMinutes: number; gaps: object[] }[] } }
  ).rulings.cups[0]!;
}
const turnedAt = () => {
  const reading = openStoreToRead(path);
  const at = reading.facts().find(({ fact }) => fact.type === 'cup-turned')!.fact.at;
  reading.close();
  return at - START;
};

describe('the crew’s commands while a logger is at work', () => {
  it('are not moved by the wall clock, set forth and back by 36 h in mid-exposure', async () => {
    const cup = await exposure([
      [15, () => clock.stepWallClock(HOURS_36)],
      [30, () => clock.stepWallClock(-2 * HOURS_36)],
    ]);
    expect(cup).toMatchObject({ ruling: 'valid', exposureMinutes: 40, gaps: [] });
    expect(turnedAt()).toBe(minutes(42));
    // The wall clock itself would have put the turn before the load.
    expect(clock.utc() - START).toBeLessThan(0);
  });

  it('count the time that the computer slept, which makes the cup unproven', async () => {
    const cup = await exposure([[20, () => clock.suspend(minutes(12))]]);
    expect(cup).toMatchObject({ ruling: 'unproven', exposureMinutes: 40 });
    expect(cup.gaps).toHaveLength(1);
    expect(turnedAt()).toBe(minutes(42));
  });

  it('go by the wall clock when no logger is there', async () => {
    await logger.stop();
    clock.stepWallClock(HOURS_36);
    await crew('visit open v1 --yard y1 --zone UTC');
    const opened = store.facts().find(({ fact }) => fact.type === 'visit-opened')!.fact.at;
    expect(opened).toBe(clock.utc());
  });
});
