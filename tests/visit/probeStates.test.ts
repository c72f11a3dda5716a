import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import type { StoredReading } from '../../src/store/store.js';
import { parseBoardId, parseRomId, type RomId } from '../../src/units/ids.js';
import { celsiusDifference } from '../../src/units/temperature.js';
import { later, minutes } from '../../src/units/time.js';
import { ICE_AGE_MAX } from '../../src/visit/commissioned.js';
import { carrierStates, probeStates } from '../../src/visit/probeStates.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  carrier,
  iceChecks,
  loads,
  mapsPlaces,
  measuresLag,
  minute,
  opens,
  otherRom,
  recorded,
  rom,
  seats,
} from './situation.js';

const board = parseBoardId('0A1B2C3D')!;
const other = parseBoardId('0A1B2C3E')!;
// A clone's ROM id that checks: published clone report, CC BY (reference/sensing.md 1.2)
const clone = parseRomId('28-AA-3C-61-55-14-01-F0')!;
const binds = (which = board) => ({ type: 'board-bound', carrier, board: which, at: minute(0) }) as const;
const heard =
  (...roms: RomId[]) =>
  (probe: RomId) =>
    roms.includes(probe)
      ? ({ rom: probe, board, utc: minute(99), raw: 320, status: 'ok' } as StoredReading)
      : null;
const states = (
  facts: Parameters<typeof recorded>,
  latestOf: (probe: RomId) => StoredReading | null = () => null,
  now = minute(100),
) => {
  const known = recorded(...facts);
  return probeStates(foldSeason(known), known, latestOf, now);
};

describe('probeStates()', () => {
  it('tells every probe that was found, in slots first, by slot', () => {
    const found: Fact = {
      type: 'probes-found',
      board,
      boot: 1,
      table: 1,
      probes: [{ index: 0, rom: clone }],
      at: minute(0),
    };
    expect(
      states([found, assigns(10), assigns(2, otherRom)]).map(({ rom: each, place }) => [each, place?.slot]),
    ).toEqual([
      [otherRom, 2],
      [rom, 10],
      [clone, undefined],
    ]);
  });

  it('takes no probe for a clone whose source states how exact it is, as an analog input', () => {
    const found = (uncertainty?: number): Fact => ({
      ...{ type: 'probes-found', board, boot: 1, table: 1, at: minute(0) },
      probes: [
        {
          index: 0,
          rom: clone,
          ...(uncertainty === undefined ? {} : { uncertainty: celsiusDifference(uncertainty) }),
        },
      ],
    });
    expect(states([found(0.5), assigns(1, clone)])[0]!.word).toBe('as bought');
    expect(states([found(), assigns(1, clone)])[0]!.word).toBe('clone?');
  });

  it.each([
    ['as bought', [assigns(1)], minute(100)],
    ['checked', [assigns(1), iceChecks(0.2, 5)], minute(100)],
    ['old check', [assigns(1), iceChecks(0.2, 5)], later(minute(6), ICE_AGE_MAX)],
    ['other board', [binds(other), assigns(1), iceChecks(0.2, 5)], minute(100)],
    ['clone?', [assigns(1, clone)], minute(100)],
  ] as const)('says %s in a word', (word, facts, now) => {
    expect(states([...facts], () => null, now)[0]!.word).toBe(word);
  });

  it('says which probe is silent only where others are heard', () => {
    const both = [assigns(1), assigns(2, otherRom)] as Parameters<typeof recorded>;
    expect(states(both).map(({ word }) => word)).toEqual(['as bought', 'as bought']);
    expect(states(both, heard(otherRom)).map(({ word }) => word)).toEqual(['no reading', 'as bought']);
  });

  it('corrects what it reads, and tells U and lag', () => {
    const [state] = states([assigns(1), iceChecks(0.25, 5), measuresLag(240, 7)], heard(rom));
    expect(state).toMatchObject({ latest: { value: 19.75 }, uncertainty: 0.614, lag: { tauSeconds: 240 } });
  });
});

describe('carrierStates()', () => {
  const facts = [
    opens,
    binds(),
    assigns(1),
    assigns(3, otherRom),
    mapsPlaces(0.15, 3),
    measuresLag(200, 5),
    measuresLag(240, 6, otherRom),
    loads('C-1', 8),
    seats('C-1', 4, 9),
  ] as Parameters<typeof recorded>;
  const [state] = carrierStates(foldSeason(recorded(...facts)), states(facts), minute(100));

  it('has every slot up to the last one in use, with probe and cup', () => {
    expect(state!.slots.map(({ slot, probe, cup }) => [slot, probe?.rom ?? null, cup])).toEqual([
      [1, rom, null],
      [2, null, null],
      [3, otherRom, null],
      [4, null, 'C-1'],
    ]);
  });

  it('advises pre-warming by its slowest probe, at the upper end of the interval', () => {
    // By hand: 250 ln(15 / 0.5) / 60 = 14.17 min.
    expect(state!.prewarmMinutes).toBeCloseTo(14.17, 2);
    const none = carrierStates(foldSeason(recorded(binds())), [], later(minute(0), minutes(1)));
    expect(none[0]).toMatchObject({ prewarmMinutes: null, slots: [] });
  });
});
