import { describe, expect, it } from 'vitest';
import { resultInWords } from '../../src/cli/judging/resultInWords.js';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import type { RomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { resultToJson, visitResult } from '../../src/visit/result.js';
import { rulingFacts } from '../../src/visit/ruleBlind.js';
import { foldSeason } from '../../src/visit/season.js';
import type { Fresh } from '../store/invented.js';
import { eachInNewStore } from './newStore.js';
import {
  assigns,
  corrects,
  correctsEntry,
  counts,
  inventedRom,
  label,
  loads,
  minute,
  moves,
  OPENED,
  opens,
  otherRom,
  reads,
  rom,
  seats,
  spoils,
  turns,
  visit,
} from './situation.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
});

/** A reading of a probe every ten seconds, from minute to minute, at a temperature by the minute. */
let scan = 0;
function readings(probe: RomId, from: number, to: number, celsius: (minute: number) => number): void {
  const rows: Fresh[] = [];
  for (let at = from; at <= to; at += 1 / 6) {
    scan += 1;
    const utc = utcMs(Math.round(OPENED + at * 60_000));
    rows.push(reads(probe, scan, utc, Math.round(celsius(at) * 16)));
  }
  store.transaction(() => store.addReadings(rows));
}
const result = () => {
  const season = foldSeason(store.facts());
  return visitResult(store, season, [season.visits.get(visit)!], minute(600));
};

describe('visitResult()', () => {
  it('rules on a cup by the probes of the slots it was in', () => {
    const facts = [opens, assigns(1, rom), assigns(2, otherRom), loads('c1', 1), seats('c1', 1, 1)];
    record(store, minute(600), () => [...facts, moves('c1', 2, 90), turns('c1', 181)]);
    readings(rom, 0, 181, () => 30);
    readings(otherRom, 0, 181, (minute) => (minute < 90 ? 5 : 30));
    expect(result().rulings[0]).toMatchObject({ cup: 'c1', ruling: 'valid', minCelsius: 30 });
  });

  it('finds the cold in the second slot, and not without the move', () => {
    // Negative control of the test above: the same readings, cold after the move.
    const facts = [opens, assigns(1, rom), assigns(2, otherRom), loads('c1', 1), seats('c1', 1, 1)];
    record(store, minute(600), () => [...facts, moves('c1', 2, 90), turns('c1', 181)]);
    readings(rom, 0, 181, () => 30);
    readings(otherRom, 0, 181, () => 5);
    expect(result().rulings[0]).toMatchObject({ ruling: 'cold', coldMinutes: { certain: 91, possible: 91 } });
  });

  it('calls a cup unproven whose slot has no probe', () => {
    record(store, minute(600), () => [opens, loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)]);
    readings(rom, 0, 181, () => 30);
    expect(result().rulings[0]).toMatchObject({ ruling: 'unproven', observedMinutes: 0 });
  });

  it('rules by the worst that the stated precision of times allows', () => {
    const ride = (slot: number, minutesExposed: number, within: number): Fact[] => {
      const event = within === 0 ? {} : { withinMs: within * 60_000 };
      return [
        assigns(slot, inventedRom(slot)),
        { ...loads(`c${slot}`, 1), ...event } as Fact,
        seats(`c${slot}`, slot, 1),
        { ...turns(`c${slot}`, 1 + minutesExposed), ...event } as Fact,
      ];
    };
    // Both ends within 2 min: 180 stands for 176 to 184, 177 for 173 to 181, 170 for 166 to 174; 175 to 195 are allowed.
    const rides = [ride(1, 180, 2), ride(2, 177, 2), ride(3, 170, 2), ride(4, 177, 0)];
    record(store, minute(600), () => [opens, ...rides.flat()]);
    const slots = [1, 2, 3, 4];
    for (const slot of slots) readings(inventedRom(slot), -2, 186, () => 30);
    expect(result().rulings.map(({ ruling }) => ruling)).toEqual(['valid', 'unproven', 'short', 'valid']);
  });

  it('takes the time around a seat that is only roughly known for a gap', () => {
    const facts = [
      opens,
      assigns(1, rom),
      loads('c1', 1),
      { ...seats('c1', 1, 4), withinMs: 180_000 } as Fact,
    ];
    record(store, minute(600), () => [...facts, turns('c1', 181)]);
    readings(rom, 0, 181, () => 30);
    // Seated at minute 7 at the latest, loaded at 1: plain arithmetic.
    expect(result().rulings[0]).toMatchObject({
      coldMinutes: { certain: 0, possible: 6 },
      ruling: 'unproven',
    });
  });

  it('says what was entered late, by whom and why, and what was corrected', () => {
    const [who, why] = [store.keepText('the second of the crew'), store.keepText('hands full')];
    record(store, minute(600), () => [
      opens,
      assigns(1, rom),
      { ...loads('c1', 1), who, late: why } as Fact,
      seats('c1', 1, 4),
      turns('c1', 181),
    ]);
    record(store, minute(600), () => [
      { ...(correctsEntry('c1', 5, 'slot', 1, 2) as Extract<Fact, { type: 'entry-corrected' }>), why },
    ]);
    const { remarks } = result().rulings[0]!;
    expect(remarks.join('\n')).toMatch(
      /^late entry: loaded .*, entered up to 599 min later by the second of the crew: hands full$/m,
    );
    expect(remarks.join('\n')).toMatch(
      /^corrected: the slot of "seated in A:1" from 1 to 2, by a person .*before.*: hands full$/m,
    );
  });

  it('says nothing of entries made as things happened', () => {
    // Negative control of the test above.
    for (const fact of [opens, loads('c1', 1), turns('c1', 181)]) record(store, fact.at, () => [fact]);
    expect(result().rulings[0]!.remarks).toEqual([]);
  });

  it('takes a probe that was exchanged in mid-ride for what each of the two saw', () => {
    const facts = [opens, assigns(1, rom), loads('c1', 1), seats('c1', 1, 1)];
    record(store, minute(600), () => [...facts, assigns(1, otherRom, 60), turns('c1', 181)]);
    readings(rom, 0, 60, () => 30);
    readings(otherRom, 60, 181, () => 28);
    expect(result().rulings[0]).toMatchObject({ ruling: 'valid', minCelsius: 28, maxCelsius: 30 });
  });

  it('pools the valid cups and shows what the rest would have done', () => {
    const cups = ['c1', 'c2', 'c3', 'c4', 'c5', 'c6'];
    const facts = cups.flatMap((cup, index) => [
      assigns(index + 1, inventedRom(index)),
      loads(cup, 1),
      seats(cup, index + 1, 1),
      turns(cup, 181),
      counts(cup, 190, index === 5 ? { tray: 0, wash: 40, bees: 300 } : { tray: 9, wash: 1, bees: 300 }),
    ]);
    record(store, minute(600), () => [opens, ...facts]);
    cups.forEach((_cup, index) => {
      readings(inventedRom(index), 0, 181, () => (index === 5 ? 10 : 30));
    });
    const json = resultToJson(result());
    expect(json.rulings.cups.map(({ ruling }) => ruling)).toEqual([
      'valid',
      'valid',
      'valid',
      'valid',
      'valid',
      'cold',
    ]);
    expect(json.yards).toHaveLength(1);
    // 45 of 50 mites of valid cups, 45 of 90 of all: plain arithmetic
    expect(json.yards[0]).toMatchObject({
      yard: 'alder-07',
      arm: 'amitraz strip, lot L7',
      efficacy: 0.9,
      cups: { valid: 5, excluded: 1, unread: 0 },
      allCups: { efficacy: 0.5 },
    });
  });

  it('leaves a cup that is not turned unjudged and unread', () => {
    record(store, minute(600), () => [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1)]);
    const { rulings, efficacy } = result();
    expect(rulings).toEqual([]);
    expect(efficacy.yards[0]).toMatchObject({ verdict: 'too-few', cups: { valid: 1, unread: 1 } });
  });

  it('keeps a spoiled cup out of every estimate', () => {
    record(store, minute(600), () => [
      opens,
      assigns(1),
      loads('c1', 1),
      seats('c1', 1, 1),
      spoils('c1', 20),
    ]);
    expect(result().rulings[0]?.ruling).toBe('spoiled');
  });

  it('gives the result with and without what a person overruled', () => {
    const facts = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)];
    record(store, minute(600), () => [...facts, counts('c1', 190, { tray: 7, wash: 3 })]);
    expect(result()).toMatchObject({ withoutOverrules: null, asFirstEntered: null });
    expect(resultToJson(result())).not.toHaveProperty('asFirstEntered');
    record(store, minute(600), () => [
      { type: 'cup-overruled', cup: label('c1'), ruling: 'valid', why: 'c'.repeat(64), at: minute(200) },
    ]);
    const overruled = result();
    expect(overruled.rulings[0]).toMatchObject({ ruling: 'unproven' });
    expect(overruled.rulings[0]?.remarks.join()).toContain('overruled: counts as valid');
    expect(overruled.rulings[0]?.remarks.join()).toContain('after its mites were counted');
    expect(overruled.efficacy.yards[0]).toMatchObject({ tray: 7, cups: { valid: 1, excluded: 0 } });
    expect(overruled.withoutOverrules?.yards[0]).toMatchObject({ tray: 0, cups: { valid: 0, excluded: 1 } });
  });
});

describe('counts that were corrected', () => {
  it('leave the result as it was with them', () => {
    readings(rom, 0, 181, () => 30);
    const facts = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)];
    record(store, minute(600), () => [...facts, counts('c1', 190, { tray: 7, wash: 3 })]);
    record(store, minute(600), () => [corrects('c1', 400, 7, 2)]);
    const json = resultToJson(result());
    // 2 of 5 now, 7 of 10 at first.
    expect(json.yards[0]).toMatchObject({ efficacy: 0.4 });
    expect(json.asFirstEntered?.yards[0]).toMatchObject({ efficacy: 0.7 });
    expect(json).not.toHaveProperty('withoutOverrules');
    expect(json).not.toHaveProperty('unchanged');
    expect(resultInWords(result())).toContain(
      'With counts as first entered, before they were corrected or withdrawn',
    );
    expect(resultInWords(result())).not.toContain('Without either');
  });

  it('leave the result as it was without overrules too', () => {
    readings(rom, 0, 181, () => 10);
    const facts = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)];
    record(store, minute(600), () => [...facts, counts('c1', 190, { tray: 7, wash: 3 })]);
    record(store, minute(600), () => [
      corrects('c1', 400, 7, 2),
      { type: 'cup-overruled', cup: label('c1'), ruling: 'valid', why: 'c'.repeat(64), at: minute(410) },
    ]);
    const json = resultToJson(result());
    // Valid by a person: 2 of 5 now, 7 of 10 as first entered. Cold by rule: nothing counts, 7 of 10 with what is ruled out.
    const arms = [json, json.withoutOverrules!, json.asFirstEntered!, json.unchanged!].map(
      ({ yards }) => yards[0]!,
    );
    expect(arms.map(({ efficacy, allCups }) => [efficacy, allCups.efficacy])).toEqual([
      [0.4, 0.4],
      [null, 0.4],
      [0.7, 0.7],
      [null, 0.7],
    ]);
    expect(resultInWords(result())).toContain('Without either');
  });
});

describe('a cup spoiled after it was counted', () => {
  const facts = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)];
  const counted = counts('c1', 190, { tray: 7, wash: 3 });
  const spoil = (at: number) => {
    const why = store.keepText('lid came off');
    record(store, minute(600), () => [{ type: 'cup-spoiled', cup: label('c1'), at: minute(at), why }]);
  };

  it('leaves its mark, its reason and the result without it', () => {
    readings(rom, 0, 181, () => 30);
    record(store, minute(600), () => [...facts, counted]);
    spoil(200);
    const { rulings, efficacy, withoutOverrules } = result();
    expect(rulings[0]).toMatchObject({
      ruling: 'spoiled',
      reasons: ['spoiled: lid came off (exposure of 180 min)'],
    });
    expect(rulings[0]?.remarks.join()).toContain('after its mites were counted');
    expect(efficacy.yards[0]?.tray).toBe(0);
    expect(withoutOverrules?.yards[0]?.tray).toBe(7);
  });

  it('is an ordinary spoiled cup when it was spoiled before', () => {
    record(store, minute(600), () => facts);
    spoil(185);
    record(store, minute(600), () => [counted]);
    expect(result().withoutOverrules).toBeNull();
  });
});

describe('looks', () => {
  const yardWith = (cups: number, declaredCups: number) => {
    const names = Array.from({ length: cups }, (_, index) => `c${index}`);
    record(store, minute(600), () => [
      { ...opens, declaredCups } as typeof opens,
      ...names.flatMap((cup) => [loads(cup, 1), turns(cup, 181)]),
    ]);
    return result().efficacy.yards[0]!;
  };

  it('share the level once there are more cups than were declared', () => {
    expect(yardWith(3, 2).looks?.count).toBe(2);
  });
  it('are one while there are not', () => {
    expect(yardWith(2, 2).looks).toBeUndefined();
  });

  it.each([
    ['before anything was counted', 5, undefined],
    ['when its counts were known', 200, 2],
  ])('are as many for a cup in the place of one given up %s', (_when, minuteGivenUp, looks) => {
    record(store, minute(600), () => [
      { ...opens, declaredCups: 1 } as typeof opens,
      loads('c1', 1),
      ...(minuteGivenUp > 181 ? [turns('c1', 181), counts('c1', 190, { tray: 1, wash: 1 })] : []),
      loads('c2', minuteGivenUp),
      { ...spoils('c1', minuteGivenUp), replacedBy: label('c2') } as Fact,
    ]);
    expect(result().efficacy.yards[0]?.looks?.count).toBe(looks);
  });
});

describe('rulingFacts()', () => {
  const facts = [opens, assigns(1), loads('c1', 1), seats('c1', 1, 1), turns('c1', 181)];
  const ruled = () => {
    const season = foldSeason(store.facts());
    return rulingFacts(store, season, [...season.cups.values()], minute(600));
  };

  it('puts the ruling on record once, and again when late readings change it', () => {
    record(store, minute(600), () => facts);
    expect(ruled()).toMatchObject([{ type: 'cup-ruled', cup: 'c1', ruling: 'unproven' }]);
    record(store, minute(600), ruled);
    expect(ruled()).toEqual([]);
    readings(rom, 0, 181, () => 30);
    expect(ruled()).toMatchObject([{ ruling: 'valid' }]);
    expect(result().rulings[0]?.remarks.join()).toContain('changed: ruled unproven at');
  });

  it('says nothing of a cup that is still exposed', () => {
    record(store, minute(600), () => facts.slice(0, -1));
    expect(ruled()).toEqual([]);
  });
});
