import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { linuxOneWire } from '../../src/carrier/oneWire/linuxOneWire.js';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import { stockBoard } from '../../src/carrier/stock/stockBoard.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { crc8, parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { durationMs, minutes, monotonicMs, seconds, utcMs } from '../../src/units/time.js';
import { ds18b20 } from '../carrier/host/scratchpads.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { KernelTree } from '../carrier/oneWire/kernel.js';
import { FirmataPeer } from '../carrier/stock/firmataPeer.js';
import { crewTypes } from '../cli/crewTypes.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { boardPort } from './boardPort.js';
import { logging } from './logging.js';

/** What is done to a computer's clocks in mid-exposure, through every source, with the crew's commands as typed. */
const HOURS_36 = minutes(36 * 60);
const LOAD = 2;
const TURN = 102;
/** In the pattern of genuine ROM ids. */
const romOf = (serial: number) => {
  const bytes = [0x28, serial, 0x9b, 0xbb, 0x0b, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
};
/** One cup stays warm, one is cold for twenty minutes early on, one for twenty minutes from 50 on. */
const CUPS = [
  { cup: 'C-1', rom: romOf(1), cold: [0, 0], ruling: 'valid' },
  { cup: 'C-2', rom: romOf(2), cold: [10, 30], ruling: 'cold' },
  { cup: 'C-3', rom: romOf(3), cold: [50, 70], ruling: 'cold' },
] as const;
const felt = (rom: string, ms: number): number => {
  const { cold } = CUPS.find((each) => each.rom === rom)!;
  // A probe that never moves by a sixteenth would be taken for stuck.
  const air = 26 + (Math.floor(ms / minutes(10)) % 2) / 16;
  return ms >= minutes(cold[0]) && ms < minutes(cold[1]) ? 12 : air;
};
/** The nights in which the clocks of Chicago are put on and back, 90 minutes before they are. */
const SPRING = utcMs(Date.parse('2026-03-08T07:00:00Z'));
const AUTUMN = utcMs(Date.parse('2026-11-01T06:00:00Z'));
const NOON = utcMs(Date.UTC(2026, 4, 12, 12));

/** A host whose every clock is the wall clock. */
class Trusting extends VirtualClock {
  override monotonic() {
    return monotonicMs(this.utc() - NOON);
  }
  override steady = () => this.monotonic();
}

let folder: string;
let store: Store;
let clock: VirtualClock;
let zone: string | undefined;
let cleanUp: () => void;
eachInNewFolder((fresh) => {
  folder = fresh;
  zone = process.env['TZ'];
  cleanUp = () => {};
});
afterEach(() => {
  if (zone === undefined) delete process.env['TZ'];
  else process.env['TZ'] = zone;
  store.close();
  cleanUp();
});

const SOURCES = {
  'our board': () => ours(true),
  'Linux 1-Wire': () => {
    const tree = new KernelTree(clock);
    for (const { rom } of CUPS)
      tree.add({ rom, convert: () => ds18b20(felt(rom, clock.passed) * 16, tree.alarms.get(rom)) });
    cleanUp = () => tree.discard();
    return linuxOneWire({ clock, folder: tree.root, files: tree.files(), nextBoot: () => 1 });
  },
  'a stock board': () => {
    let toHost: (bytes: Uint8Array) => void = () => {};
    const peer = new FirmataPeer({
      clock,
      send: (bytes) => toHost(bytes),
      probes: CUPS.map(({ rom }) => ({ rom, temperature: () => felt(rom, clock.passed) * 16 })),
    });
    const open = () => {
      let closed: (why: string) => void = () => {};
      return Promise.resolve({
        onData(take: (bytes: Uint8Array) => void) {
          toHost = take;
          void clock.sleep(seconds(1)).then(() => peer.boot());
        },
        onClosed(take: (why: string) => void) {
          closed = take;
        },
        write: (bytes: Uint8Array | string) => peer.receive(bytes as Uint8Array),
        close: (why: string) => closed(why),
      });
    };
    return stockBoard({ clock, path: '/dev/stock', oneWirePins: [2], analog: [], open, nextBoot: () => 1 });
  },
} satisfies Record<string, () => CarrierSource>;

function ours(hasMemory: boolean): CarrierSource {
  const start = clock.utc();
  const roms = CUPS.map(({ rom }) => rom);
  const ports = boardPort({ clock, start, roms, temperature: felt, sramSeed: 1, hasMemory });
  return serialBoard('/dev/ours', clock, ports);
}

const crew = (words: string) => crewTypes(words, store.path, clock);

/** Loads at 2 min, turns at 102 min by what has really passed; the rulings of the three cups. */
async function rulings(
  source: () => CarrierSource,
  meanwhile: readonly (readonly [atMinute: number, does: () => void])[],
  host: VirtualClock,
): Promise<string[]> {
  clock = host;
  store = openStoreToWrite(join(folder, 'x.sqlite'), clock.utc());
  const logger = await logging(store, clock, [{ source: source(), carrier: parseCarrierId('A') }]);
  let slept = 0;
  const until = (minute: number) => clock.run(minutes(minute) - slept);
  await until(1);
  const short = join(folder, 'rules.json');
  await import('node:fs').then(({ writeFileSync }) =>
    writeFileSync(short, '{"exposureMinutes":100,"exposureMinutesMin":95,"exposureMinutesMax":105}'),
  );
  await crew(`visit open v1 --yard y1 --zone America/Chicago --rules ${short}`);
  for (const [index, { rom }] of CUPS.entries()) await crew(`probe assign A:${index + 1} ${rom}`);
  await until(LOAD);
  for (const [index, { cup }] of CUPS.entries()) {
    await crew(`cup load ${cup}`);
    await crew(`cup seat ${cup} A:${index + 1}`);
  }
  for (const [minute, does] of meanwhile) {
    await until(minute);
    const before = clock.passed;
    does();
    slept += clock.passed - before;
    await clock.run(minutes(minute) - slept + (clock.passed - before) + durationMs(5000));
  }
  await until(TURN);
  for (const { cup } of CUPS) await crew(`cup turn ${cup}`);
  await until(TURN + 6);
  const out = await crew('visit result v1 --json');
  await logger.stop();
  const { cups } = (JSON.parse(out) as { rulings: { cups: { cup: string; ruling: string }[] } }).rulings;
  return CUPS.map(({ cup }) => cups.find((each) => each.cup === cup)!.ruling);
}
const EXPECTED = CUPS.map(({ ruling }) => ruling);
const inZone = (name: string) => () => {
  process.env['TZ'] = name;
};

const steps = [
  [15, () => clock.stepWallClock(HOURS_36)],
  [60, () => clock.stepWallClock(-2 * HOURS_36)],
] as const;
/** Disturbances that leave every ruling as it is, whatever the source. */
const HARMLESS = {
  'the wall clock set by +36 h, then by -72 h, in the night in which clocks are put on': {
    start: SPRING,
    meanwhile: [[1.5, inZone('America/Chicago')], ...steps],
  },
  'a journey to other time zones in the night in which clocks are put back': {
    start: AUTUMN,
    meanwhile: [
      [1.5, inZone('America/Chicago')],
      [20, inZone('Asia/Tokyo')],
      [60, inZone('America/Los_Angeles')],
    ],
  },
} as const;

describe.each(Object.keys(SOURCES) as (keyof typeof SOURCES)[])('through %s', (name) => {
  it.each(Object.entries(HARMLESS))('%s changes no ruling', async (_what, { start, meanwhile }) => {
    expect(await rulings(SOURCES[name], meanwhile, new VirtualClock(start))).toEqual(EXPECTED);
  });

  it('an hour asleep changes no ruling, or makes it unproven where nobody remembers that hour', async () => {
    const asleep = [[35, () => clock.suspend(minutes(60))]] as const;
    const found = await rulings(SOURCES[name], asleep, new VirtualClock(NOON));
    expect(found).toEqual(name === 'our board' ? EXPECTED : ['unproven', 'cold', 'unproven']);
  });
});

describe('negative controls', () => {
  it('our board without memory cannot prove the hour asleep', async () => {
    const asleep = [[35, () => clock.suspend(minutes(60))]] as const;
    const found = await rulings(() => ours(false), asleep, new VirtualClock(NOON));
    expect(found).toEqual(['unproven', 'cold', 'unproven']);
  });

  it('a host that goes by the wall clock comes to other rulings', async () => {
    const found = await rulings(SOURCES['Linux 1-Wire'], steps.slice(0, 1), new Trusting(NOON));
    expect(found).not.toEqual(EXPECTED);
  });
});
