import { describe, expect, it } from 'vitest';
import { ICE_CHECKED, UNCORRECTED } from '../../src/exposure/uncertainty.js';
import { type Fact, factFromJson, factToJson, type MEASUREMENTS } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { offsetOf, uncertaintyOf } from '../../src/visit/commissioned.js';
import { record } from '../../src/visit/record.js';
import { visitResult } from '../../src/visit/result.js';
import { rulingFacts } from '../../src/visit/ruleBlind.js';
import { foldSeason } from '../../src/visit/season.js';
import { probeIn } from '../../src/visit/slots.js';
import { eachInNewStore } from './newStore.js';
import {
  assigns,
  carrier,
  counts,
  iceChecks,
  label,
  loads,
  mapsPlaces,
  measuresLag,
  minute,
  opens,
  reads,
  rom,
  seats,
  turns,
  visit,
} from './situation.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

const NOW = minute(600);
const say = (...facts: Fact[]) => record(store, NOW, () => facts);
const season = () => foldSeason(store.facts());
const withdraw = (of: (typeof MEASUREMENTS)[number], at = 300) => {
  const entry = store.facts().findLast(({ fact }) => fact.type === of)!.seq;
  const [who, why] = [store.keepText('Rika'), store.keepText('the ice had melted')];
  say({ type: 'measurement-withdrawn', of, entry, who, why, at: minute(at) });
};
const u = () => uncertaintyOf(season().commissioned, carrier, rom, minute(200));

/** A cup at 16 degC by its probe for three hours: warm for sure with a small U only. */
const ride = () => {
  const rows = Array.from({ length: 181 * 6 }, (_, index) =>
    reads(rom, index + 1, utcMs(minute(5) + index * 10_000), 16.25 * 16),
  );
  store.transaction(() => store.addReadings(rows));
  return [loads('c1', 5), seats('c1', 1, 5), turns('c1', 185)];
};
const result = () => {
  const now = season();
  return visitResult(store, now, [now.visits.get(visit)!], NOW);
};
const judge = () => record(store, NOW, (known) => rulingFacts(store, known, [...known.cups.values()], NOW));

describe('a withdrawn measurement', () => {
  it('leaves what remains to count: the check before it, or the probe as bought', () => {
    say(assigns(1), iceChecks(0.1, 1), iceChecks(0.3, 2));
    expect([offsetOf(season().commissioned, rom, minute(200)), u()]).toEqual([0.3, ICE_CHECKED]);
    withdraw('ice-checked');
    // Not the latest one any more: withdrawn by its number.
    expect(offsetOf(season().commissioned, rom, minute(200))).toBe(0.1);
    const first = store.facts().find(({ fact }) => fact.type === 'ice-checked')!.seq;
    const ref = store.keepText('Rika');
    say({ type: 'measurement-withdrawn', of: 'ice-checked', entry: first, who: ref, why: ref, at: NOW });
    expect([offsetOf(season().commissioned, rom, minute(200)), u()]).toEqual([0, UNCORRECTED]);
    expect(store.facts().filter(({ fact }) => fact.type === 'ice-checked')).toHaveLength(2);
  });

  it('may be a map, a lag or a slot', () => {
    say(assigns(1), assigns(2, rom, 1), mapsPlaces(0.15, 2), measuresLag(240, 3));
    withdraw('placement-mapped');
    withdraw('lag-measured');
    expect(u()).toBe(UNCORRECTED);
    expect(season().commissioned.lags.size).toBe(0);
    expect(probeIn(season().carriers.get(carrier), 1, NOW)).toBeNull();
    withdraw('probe-assigned');
    expect(probeIn(season().carriers.get(carrier), 1, NOW)).toBe(rom);
    expect(probeIn(season().carriers.get(carrier), 2, NOW)).toBeNull();
  });

  it('cannot be withdrawn twice, before it was made, or when it is none', () => {
    say(assigns(1), iceChecks(0.1, 100));
    expect(() => withdraw('ice-checked', 99)).toThrow('cannot be withdrawn before it was made');
    const again = () => withdraw('ice-checked');
    again();
    expect(again).toThrow(/^Entry \d+ is no measurement, or was withdrawn before/);
  });
});

describe('a ruling on a withdrawn measurement', () => {
  it('is made by what remains, and says who took back what, when and why', () => {
    say(opens, assigns(1), iceChecks(0, 1));
    say(...ride());
    judge();
    expect(result().rulings[0]?.ruling).toBe('valid');
    expect(result().rulings[0]?.remarks.join()).not.toContain('withdrawn');
    withdraw('ice-checked');
    const { rulings, withoutOverrules } = result();
    // 16.25 - 0.858 is below 15.556, 16.25 - 0.614 is not.
    expect(rulings[0]?.ruling).toBe('unproven');
    expect(rulings[0]?.remarks.join()).toContain('changed: ruled valid at ');
    expect(rulings[0]?.remarks.at(-1)).toBe(
      `withdrawn: the ice check of probe ${rom} made at 2026-05-12T12:01:00.000Z, by Rika at 2026-05-12T17:00:00.000Z, before its mites were counted: the ice had melted`,
    );
    expect(withoutOverrules).toBeNull();
  });

  it('is marked when its mites were counted already, and the result without it is given', () => {
    say(opens, assigns(1), iceChecks(0, 1));
    say(...ride());
    judge();
    say(counts('c1', 200, { tray: 7, wash: 3 }));
    expect(result().withoutOverrules).toBeNull();
    withdraw('ice-checked');
    const { rulings, efficacy, withoutOverrules } = result();
    expect(rulings[0]?.ruling).toBe('unproven');
    expect(rulings[0]?.remarks.at(-1)).toContain('after its mites were counted: the ice had melted');
    expect(efficacy.yards[0]).toMatchObject({ tray: 0, cups: { valid: 0, excluded: 1 } });
    expect(withoutOverrules?.yards[0]).toMatchObject({ tray: 7, cups: { valid: 1, excluded: 0 } });
  });

  it('is left alone by what it did not rest on', () => {
    // The second check was in force before the cup was seated, the third was made after it was turned.
    say(opens, assigns(1), iceChecks(0.2, 1), iceChecks(0, 2));
    const first = store.facts().find(({ fact }) => fact.type === 'ice-checked')!.seq;
    say(...ride(), iceChecks(0.4, 250));
    withdraw('ice-checked');
    const ref = store.keepText('Rika');
    say({ type: 'measurement-withdrawn', of: 'ice-checked', entry: first, who: ref, why: ref, at: NOW });
    expect(result().rulings[0]?.ruling).toBe('valid');
    expect(result().rulings[0]?.remarks.join()).not.toContain('withdrawn');
  });

  it('keeps the probe it was made with once its mites are counted', () => {
    say(opens, assigns(1));
    say(...ride());
    say(counts('c1', 200, { tray: 7 }));
    expect(() => withdraw('probe-assigned')).toThrow(/^Cup c1 rode on this and its mites are counted; /);
    expect(probeIn(season().carriers.get(carrier), 1, NOW)).toBe(rom);
    // What bears on no counted cup may go.
    say(assigns(1, rom, 250));
    withdraw('probe-assigned');
    expect(season().cups.get(label('c1'))?.counts.tray).toBe(7);
  });
});

describe('board-bound', () => {
  const bound = { type: 'board-bound', carrier, board: parseBoardId('0A1B2C3D')!, at: minute(0) } as const;

  it('tells who, and is read from an earlier version that does not', () => {
    const line = (fact: Fact) => JSON.stringify(factToJson(1, minute(0), fact));
    expect(factFromJson(line(bound)).fact).toEqual(bound);
    const who = 'ab'.repeat(32);
    expect(factFromJson(line({ ...bound, who })).fact).toEqual({ ...bound, who });
    say(bound);
    expect(season().carriers.get(carrier)?.bound).toEqual({ at: minute(0), who: null });
    say({ ...bound, who, at: minute(1) });
    expect(season().carriers.get(carrier)?.bound).toEqual({ at: minute(1), who });
  });
});
