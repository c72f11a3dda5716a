import { describe, expect, it } from 'vitest';
import { analogRom } from '../../src/carrier/stock/analogRom.js';
import {
  ICE_CHECKED,
  NEVER_CERTAIN,
  U_PLACEMENT_UNMAPPED,
  U_PROBE_ICE_CHECKED,
  UNCORRECTED,
} from '../../src/exposure/uncertainty.js';
import { type BoardId, parseBoardId, parseCarrierId, parseRomId } from '../../src/units/ids.js';
import { celsiusDifference } from '../../src/units/temperature.js';
import { later, minutes } from '../../src/units/time.js';
import {
  changesBetween,
  ICE_AGE_MAX,
  iceCautions,
  offsetOf,
  uncertaintyOf,
} from '../../src/visit/commissioned.js';
import { exposureOf, observations } from '../../src/visit/exposures.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  carrier,
  iceChecks,
  label,
  loads,
  mapsPlaces,
  minute,
  opens,
  recorded,
  rom,
  seats,
  turns,
} from './situation.js';

const known = (...facts: Parameters<typeof recorded>) => foldSeason(recorded(...facts)).commissioned;
const board = parseBoardId('0A1B2C3D')!;
const other = parseBoardId('0A1B2C3E')!;
// A clone's ROM id that checks: published clone report, CC BY (reference/sensing.md 1.2)
const clone = parseRomId('28-AA-3C-61-55-14-01-F0')!;

describe('uncertaintyOf()', () => {
  const at = (commissioned: ReturnType<typeof known>, probe = rom, time = minute(100)) =>
    uncertaintyOf(commissioned, carrier, probe, time);

  it('is that of a probe as bought until something is known', () => {
    expect(at(known())).toBe(UNCORRECTED);
    expect(at(known(iceChecks(0.2, 101)))).toBe(UNCORRECTED);
    expect(at(known(mapsPlaces(0.15, 101)))).toBe(UNCORRECTED);
  });

  it('is the fixed figure after an ice check, and less when mapped as well', () => {
    expect(at(known(iceChecks(0.2, 10)))).toBe(ICE_CHECKED);
    // By hand: 2 sqrt(0.103^2 + 0.15^2) = 0.36392, rounded up; 2 sqrt(0.317^2 + 0.15^2) = 0.70140.
    expect(at(known(iceChecks(0.2, 10), mapsPlaces(0.15, 20)))).toBe(0.364);
    expect(at(known(mapsPlaces(0.15, 20)))).toBe(0.702);
    expect(U_PROBE_ICE_CHECKED).toBe(0.103);
    expect(U_PLACEMENT_UNMAPPED).toBe(0.289);
  });

  it('is that of its own carrier only, and of the latest map', () => {
    const commissioned = known(mapsPlaces(0.4, 10), mapsPlaces(0.15, 20));
    expect(at(commissioned, rom, minute(15))).toBe(1.021); // by hand: 2 sqrt(0.317^2 + 0.4^2) = 1.02077
    expect(at(commissioned)).toBe(0.702);
    expect(uncertaintyOf(commissioned, parseCarrierId('B')!, rom, minute(100))).toBe(UNCORRECTED);
  });

  it('is what the source told of a probe that is no DS18B20, ice or not', () => {
    const analog = analogRom(board, 0);
    const tells = (uncertainty: number, ms: number) => ({
      type: 'probes-found' as const,
      board,
      boot: 1,
      table: 1,
      probes: [{ index: 0, rom: analog, uncertainty: celsiusDifference(uncertainty) }],
      at: minute(ms),
    });
    // By hand: 2 sqrt(1.2^2 + 0.289^2) = 2.46862, 2 sqrt(0.5^2 + 0.289^2) = 1.15504, each rounded up.
    const told = known(tells(1.2, 5), tells(1.2, 30), tells(0.5, 60), iceChecks(0.2, 70, analog));
    expect(at(told, analog, minute(10))).toBe(2.469);
    expect(at(told, analog, minute(60))).toBe(1.156);
    // Ice proves its offset at 0 degC, not what its reference does at 16.
    expect(at(told, analog, minute(80))).toBe(1.156);
    expect(changesBetween(told, carrier, analog, minute(6), minute(100))).toEqual([minute(60), minute(70)]);
    expect(iceCautions(known(tells(1.2, 5)), analog, board, minute(10))).toEqual([]);
    // Nobody told: then it is like any id that no maker uses.
    expect(at(known(), analog)).toBe(NEVER_CERTAIN);
  });

  it('leaves a suspected clone certain of nothing until it has been in ice', () => {
    expect(at(known(mapsPlaces(0.15, 20)), clone)).toBe(NEVER_CERTAIN);
    expect(at(known(iceChecks(0.2, 10, clone)), clone)).toBe(ICE_CHECKED);
  });
});

describe('offsetOf()', () => {
  it('is that of the check in force at the time, whatever the order they were recorded in', () => {
    const commissioned = known(iceChecks(0.3, 50), iceChecks(0.1, 10));
    expect([5, 10, 49, 50, 400].map((time) => offsetOf(commissioned, rom, minute(time)))).toEqual([
      0, 0.1, 0.1, 0.3, 0.3,
    ]);
  });
});

describe('changesBetween()', () => {
  it('tells the times in between, in order, once', () => {
    const commissioned = known(
      iceChecks(0.3, 50),
      mapsPlaces(0.2, 50),
      mapsPlaces(0.2, 30),
      iceChecks(0, 10),
    );
    expect(changesBetween(commissioned, carrier, rom, minute(10), minute(60))).toEqual([
      minute(30),
      minute(50),
    ]);
  });
});

describe('iceCautions()', () => {
  const cautions = (time: number, by: BoardId | null = board) =>
    iceCautions(known(iceChecks(0.2, 0)), rom, by, minute(time));

  it('says when a check is older than a year, and not a minute sooner', () => {
    const year = ICE_AGE_MAX / minutes(1);
    expect(cautions(year)).toEqual([]);
    expect(cautions(year + 1)).toEqual(['its ice check of 2026-05-12 is older than a year']);
  });

  it('says when it was made on another board', () => {
    expect(cautions(1, other)).toEqual(['its ice check was made on another board (0A1B2C3D)']);
    expect(cautions(1, null)).toEqual([]);
  });

  it('says that an unusual ROM id was never in ice', () => {
    expect(iceCautions(known(), clone, board, minute(1))[0]).toMatch(/perhaps a clone/);
    expect(iceCautions(known(), rom, board, minute(1))).toEqual([]);
  });
});

describe('exposureOf()', () => {
  const ride = [opens, assigns(1), loads('C-1', 5), seats('C-1', 1, 10), turns('C-1', 185)] as const;
  const exposure = (...facts: Parameters<typeof recorded>) => {
    const season = foldSeason(recorded(...ride, ...facts));
    return exposureOf(season, season.cups.get(label('C-1'))!, minute(200));
  };

  it('takes the uncertainty of the probe and its place', () => {
    expect(exposure().seatings.map(({ uncertainty }) => uncertainty)).toEqual([UNCORRECTED]);
    expect(exposure(iceChecks(0.2, 3)).seatings.map(({ uncertainty }) => uncertainty)).toEqual([ICE_CHECKED]);
  });

  it('leaves earlier exposures as they were, and divides one that was going on', () => {
    expect(exposure(iceChecks(0.2, 186))).toEqual(exposure());
    const parts = exposure(iceChecks(0.2, 100)).seatings;
    expect(parts.map(({ from, to, uncertainty }) => [from, to, uncertainty])).toEqual([
      [minute(10), minute(100), UNCORRECTED],
      [minute(100), minute(185), ICE_CHECKED],
    ]);
  });

  it('remarks on a check that is old or from another board', () => {
    const binds = { type: 'board-bound', carrier, board: other, at: minute(1) } as const;
    const old = { ...iceChecks(0.2, 3), at: later(minute(0), minutes(-400 * 24 * 60)) };
    expect(exposure(binds, old).remarks).toEqual([
      `probe ${rom} in A:1: its ice check of 2025-04-07 is older than a year`,
      `probe ${rom} in A:1: its ice check was made on another board (0A1B2C3D)`,
    ]);
    expect(exposure(iceChecks(0.2, 3)).remarks).toEqual([]);
  });
});

describe('observations()', () => {
  it('corrects each reading by the offset that was known at its time', () => {
    const commissioned = known(iceChecks(0.25, 10));
    const reading = (time: number) =>
      ({ rom, utc: minute(time), raw: 320, status: 'ok' }) as Parameters<typeof observations>[0][number];
    expect(observations([reading(9), reading(10)], commissioned).map(({ celsius }) => celsius)).toEqual([
      20, 19.75,
    ]);
  });
});
