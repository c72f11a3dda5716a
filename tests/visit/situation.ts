import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact, RecordedFact } from '../../src/store/facts.js';
import {
  crc8,
  parseBoardId,
  parseCarrierId,
  parseCupLabel,
  parseRomId,
  parseVisitId,
  parseYardCode,
  type RomId,
} from '../../src/units/ids.js';
import { celsius, celsiusDifference } from '../../src/units/temperature.js';
import { boardMs, seconds, type UtcMs, utcMs } from '../../src/units/time.js';
import type { ProbeState, ProbeWord } from '../../src/visit/probeStates.js';
import type { Fresh } from '../store/invented.js';

/** An invented visit, in minutes since it was opened. */
export const OPENED = utcMs(Date.UTC(2026, 4, 12, 12));
export const minute = (count: number) => utcMs(OPENED + count * 60_000);
export const visit = parseVisitId('v1')!;
export const carrier = parseCarrierId('A')!;
export const label = (text: string) => parseCupLabel(text)!;
// ROM ids that check: published clone report, CC BY (reference/sensing.md 1.2)
export const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;
export const otherRom = parseRomId('28-CA-D6-10-10-00-00-FE')!;

/** A ROM id with an invented serial number and its right CRC. */
export function inventedRom(serial: number) {
  const bytes = [0x28, serial, 0x51, 0x0c, 0x3a, 0, 0];
  const pairs = [...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0'));
  return parseRomId(pairs.join('-'))!;
}

export const opens: Fact = {
  type: 'visit-opened',
  visit,
  yard: parseYardCode('alder-07')!,
  zone: 'Etc/UTC',
  at: OPENED,
  active: 'amitraz strip',
  lot: 'L7',
  declaredCups: 10,
  rules: rulesToJson(DEFAULT_RULES),
};
export const assigns = (slot: number, probe = rom, at = 0): Fact => ({
  type: 'probe-assigned',
  carrier,
  slot,
  rom: probe,
  at: minute(at),
});
/** An ice check and a map as their commands record them. */
export const iceChecks = (offset: number, at: number, probe = rom) =>
  ({
    type: 'ice-checked',
    rom: probe,
    board: parseBoardId('0A1B2C3D')!,
    offset: celsiusDifference(offset),
    uncertainty: celsiusDifference(0.103),
    standardDeviation: celsiusDifference(0.02),
    readings: 20,
    who: 'ab'.repeat(32),
    at: minute(at),
  }) satisfies Fact;
export const mapsPlaces = (uncertainty: number, at: number) =>
  ({
    type: 'placement-mapped',
    carrier,
    board: parseBoardId('0A1B2C3D')!,
    uncertainty: celsiusDifference(uncertainty),
    places: [],
    who: 'ab'.repeat(32),
    at: minute(at),
  }) satisfies Fact;
export const measuresLag = (tauSeconds: number, at: number, probe = rom) =>
  ({
    type: 'lag-measured',
    rom: probe,
    board: parseBoardId('0A1B2C3D')!,
    tauSeconds,
    lowSeconds: tauSeconds - 10,
    highSeconds: tauSeconds + 10,
    stepCelsius: celsiusDifference(-13),
    who: 'ab'.repeat(32),
    at: minute(at),
  }) satisfies Fact;
export const loads = (cup: string, at: number): Fact => ({
  type: 'cup-loaded',
  visit,
  cup: label(cup),
  kind: 'strip',
  active: 'amitraz strip',
  lot: 'L7',
  colony: null,
  group: null,
  at: minute(at),
});
export const seats = (cup: string, slot: number, at: number): Fact => ({
  type: 'cup-seated',
  cup: label(cup),
  carrier,
  slot,
  at: minute(at),
});
export const moves = (cup: string, slot: number, at: number): Fact => ({
  type: 'cup-moved',
  cup: label(cup),
  carrier,
  slot,
  at: minute(at),
});
export const lifts = (cup: string, at: number): Fact => ({
  type: 'cup-lifted',
  cup: label(cup),
  at: minute(at),
});
export const turns = (cup: string, at: number): Fact => ({
  type: 'cup-turned',
  cup: label(cup),
  at: minute(at),
});
export const spoils = (cup: string, at: number): Fact => ({
  type: 'cup-spoiled',
  cup: label(cup),
  at: minute(at),
  why: 'a'.repeat(64),
});
export const counts = (
  cup: string,
  at: number,
  some: { tray?: number; wash?: number; bees?: number },
): Fact => ({
  type: 'cup-counted',
  cup: label(cup),
  at: minute(at),
  tray: some.tray ?? null,
  wash: some.wash ?? null,
  bees: some.bees ?? null,
});
export const corrects = (cup: string, at: number, old: number, now: number): Fact => ({
  type: 'count-corrected',
  cup: label(cup),
  at: minute(at),
  field: 'tray',
  old,
  new: now,
  why: 'b'.repeat(64),
});
export const rewashes = (cup: string, at: number, mites: number): Fact => ({
  ...(counts(cup, at, {}) as Extract<Fact, { type: 'cup-counted' }>),
  washAgain: mites,
});
/** A correction of the entry with that number; times as RFC 3339 text. */
export const correctsEntry = (
  cup: string,
  entry: number,
  field: Extract<Fact, { type: 'entry-corrected' }>['field'],
  old: string | number | null,
  now: string | number | null,
  at = 400,
): Fact => ({
  type: 'entry-corrected',
  cup: label(cup),
  entry,
  field,
  old,
  new: now,
  why: 'c'.repeat(64),
  at: minute(at),
});
export const withdraws = (cup: string, entry: number, at = 400): Fact => ({
  type: 'entry-withdrawn',
  cup: label(cup),
  entry,
  why: 'c'.repeat(64),
  at: minute(at),
});
/** What a probe read in a scan, in sixteenths of a degree. */
export const reads = (
  probe: RomId,
  scan: number,
  at: UtcMs,
  sixteenths: number | null,
  more: Partial<Fresh> = {},
): Fresh => ({
  rom: probe,
  board: parseBoardId('0A1B2C3D')!,
  boot: 1,
  scan,
  slotIndex: 0,
  boardMs: boardMs(scan * 10_000),
  utc: at,
  raw: sixteenths,
  status: 'ok',
  ...more,
});
export const closes = (at: number): Fact => ({ type: 'visit-closed', visit, at: minute(at) });

export const recorded = (...facts: Fact[]): RecordedFact[] =>
  facts.map((fact, index) => ({ seq: index + 1, recorded: fact.at, fact }));

/** What is known of the probe in a slot, as `carrier show` and `probe show` have it. */
export const probeState = (slot: number, word: ProbeWord, change: Partial<ProbeState> = {}): ProbeState => ({
  rom: inventedRom(slot),
  place: { carrier, slot },
  board: null,
  latest: { value: celsius(-12.345), age: seconds(3) },
  word,
  ice: iceChecks(-0.3005, 1),
  lag: measuresLag(1240, 2),
  uncertainty: celsiusDifference(0.858),
  cautions: [],
  ...change,
});

/** By somebody who found the cup to be valid. */
export const overrules = (at: number): Fact => ({
  type: 'cup-overruled',
  cup: label('c1'),
  ruling: 'valid',
  at: minute(at),
  why: 'a'.repeat(64),
});

/** Five facts of a cup that is turned; what follows is number 6. */
export const TURNED = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 3), turns('c1', 181)];
