import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { type Day, type DayQuestion, planDay } from '../../src/plan/day.js';
import { whatFits } from '../../src/plan/whatFits.js';
import { between, inMinutes, minutes, type UtcMs } from '../../src/units/time.js';
import { inZone } from '../../src/units/zone.js';
import { at, CUP, question, slots, twoEach, yard, ZONE } from './invented.js';

const clock = (time: UtcMs): string => inZone(time, ZONE).slice(11, 16);
const steps = (day: Day): string[] =>
  day.steps.map(({ does, from, to, yard: { yard: code }, cups }) =>
    [`${clock(from)}-${clock(to)}`, does, code, ...(cups === 0 ? [] : [cups])].join(' '),
  );
const about = (day: Day): string[] => day.clashes.map((clash) => clash.about);

/** What must hold of every day, fit or not: one thing at a time, a slot for one cup at a time, each cup turned once. */
function brokenIn(day: Day, { takeCup, turnCup, yards }: DayQuestion): string[] {
  const broken: string[] = [];
  for (const [index, { from }] of day.steps.entries())
    if (index > 0 && from !== day.steps[index - 1]!.to) broken.push('a step begins before the last ends');
  const drives = day.steps.filter(({ does }) => does === 'drive');
  for (const { turn } of day.cups)
    if (drives.some(({ from, to }) => turn < to && turn + turnCup > from))
      broken.push('a cup is turned while driving');
  for (const [index, cup] of day.cups.entries())
    for (const other of day.cups.slice(index + 1))
      if (cup.slot === other.slot && other.load - takeCup < cup.turn + turnCup)
        broken.push('two cups in a slot');
  const apart = [...day.cups].sort((a, b) => a.turn - b.turn);
  for (const [index, { turn }] of apart.entries())
    if (index > 0 && turn - apart[index - 1]!.turn < turnCup) broken.push('two turns at once');
  if (day.cups.length !== yards.reduce((sum, { cups }) => sum + cups.length, 0))
    broken.push('a cup is missing');
  return broken;
}

describe('planDay()', () => {
  it('loads one yard after the other and turns each when it is due', () => {
    const asked = question({ yards: [yard('alder-07', 10), yard('sedge-12', 10, 25)] });
    const day = planDay(asked);
    expect(steps(day)).toEqual([
      '07:00-07:30 load alder-07 10',
      '07:30-07:55 drive sedge-12',
      '07:55-08:25 load sedge-12 10',
      '08:25-10:03 wait sedge-12',
      '10:03-10:30 turn alder-07 10',
      '10:30-10:58 wait sedge-12',
      '10:58-11:25 turn sedge-12 10',
    ]);
    expect([day.clashes, day.fits, brokenIn(day, asked)]).toEqual([[], true, []]);
  });

  it('takes the turn window from the rule set', () => {
    const [cup] = planDay(question({})).cups;
    // Loaded at 07:03; 175 to 195 min later (judgement, docs/rules.md).
    expect([cup!.load, cup!.from, cup!.due, cup!.to].map(clock)).toEqual([
      '07:03',
      '09:58',
      '10:03',
      '10:18',
    ]);
    const rules = {
      ...DEFAULT_RULES,
      exposureMinutes: 120,
      exposureMinutesMin: 110,
      exposureMinutesMax: 130,
    };
    const [shorter] = planDay(question({ rules })).cups;
    expect([shorter!.from, shorter!.due, shorter!.to].map(clock)).toEqual(['08:53', '09:03', '09:13']);
  });

  it('stops on the way for cups that are due, and says so: nobody turns while driving', () => {
    const asked = question({ yards: [yard('alder-07', 5), yard('sedge-12', 3, 240)] });
    const day = planDay(asked);
    expect(steps(day).slice(0, 4)).toEqual([
      '07:00-07:15 load alder-07 5',
      '07:15-10:03 drive sedge-12',
      '10:03-10:15 turn alder-07 5',
      '10:15-11:27 drive sedge-12',
    ]);
    expect(day.clashes).toMatchObject([{ about: 'turned-on-the-way', cups: 5, at: { yard: 'sedge-12' } }]);
    expect(brokenIn(day, asked)).toEqual([]);
  });

  it('would be found out if it turned on the road (negative control)', () => {
    const asked = question({ yards: [yard('alder-07', 5), yard('sedge-12', 3, 240)] });
    const day = planDay(asked);
    const cups = day.cups.map((cup) => ({ ...cup, turn: at('09:00') }));
    expect(brokenIn({ ...day, cups }, asked)).toContain('a cup is turned while driving');
  });

  it('waits where it stands rather than drive for some minutes', () => {
    const asked = question({
      yards: [yard('alder-07', 55), yard('sedge-12', 1, 60)],
      slots: slots(['A', 16], ['B', 16], ['C', 16], ['D', 16]),
    });
    const day = planDay(asked);
    const drives = day.steps
      .filter(({ does }) => does === 'drive')
      .map(({ from, to }) => inMinutes(between(from, to)));
    expect(Math.min(...drives)).toBeGreaterThan(10);
    expect(brokenIn(day, asked)).toEqual([]);
  });

  it('turns between loads what is due while a yard is loaded, and says so', () => {
    const asked = question({
      yards: [yard('alder-07', 4), { ...yard('sedge-12', 10, 30), notBefore: at('09:50') }],
    });
    const day = planDay(asked);
    expect(day.clashes).toMatchObject([
      { about: 'turned-while-loading', cups: 4, turned: { yard: 'alder-07' }, at: { yard: 'sedge-12' } },
    ]);
    expect(day.cups.filter(({ turn, to }) => turn > to)).toEqual([]);
    expect(brokenIn(day, asked)).toEqual([]);
  });

  it('waits for slots that are taken, and says how many were free', () => {
    const asked = question({
      yards: [yard('alder-07', 10), yard('sedge-12', 10, 25)],
      slots: slots(['A', 15]),
    });
    const day = planDay(asked);
    expect(day.clashes[0]).toMatchObject({ about: 'slots', cups: 10, free: 5, from: at('07:55') });
    expect(about(day)).toEqual(['slots']);
    expect([day.fits, brokenIn(day, asked)]).toEqual([true, []]);
  });

  it('does not fit when a yard has more cups than there are slots', () => {
    const asked = question({ yards: [yard('alder-07', 11)], slots: slots(['A', 10]) });
    const day = planDay(asked);
    expect([about(day)[0], day.fits, brokenIn(day, asked)]).toEqual(['slots', false, []]);
    expect(planDay({ ...asked, yards: [yard('alder-07', 10)] }).fits).toBe(true);
  });

  it('says when nobody can keep the windows', () => {
    const asked = question({ yards: [yard('alder-07', 10)], takeCup: minutes(1), turnCup: minutes(5) });
    const day = planDay(asked);
    expect([about(day), day.fits, brokenIn(day, asked)]).toEqual([['window'], false, []]);
    // By hand: the first is turned as early as may be, at 09:56, the tenth 45 min later, at 10:41; it may be until 10:25.
    expect(day.cups.at(-1)!.to).toBe(at('10:25'));
    expect(day.clashes).toMatchObject([{ lateBy: minutes(16) }]);
  });

  it('says when there are too many yards for the day, and what would fit', () => {
    const asked = question({
      yards: ['alder-07', 'sedge-12', 'oak-03', 'elm-01', 'fir-02'].map((code) => yard(code, 10, 60)),
      slots: slots(['A', 10]),
    });
    const day = planDay(asked);
    expect([about(day).at(-1), day.fits]).toEqual(['too-long', false]);
    const { yards, cupsAYard } = whatFits(asked);
    expect(planDay({ ...asked, yards: asked.yards.slice(0, yards) }).fits).toBe(true);
    expect(planDay({ ...asked, yards: asked.yards.slice(0, yards + 1) }).fits).toBe(false);
    const fewer = (cups: number) =>
      planDay({ ...asked, yards: asked.yards.map((each) => ({ ...each, cups: each.cups.slice(0, cups) })) })
        .fits;
    expect([yards, cupsAYard === null ? null : fewer(cupsAYard)]).toEqual([3, true]);
    expect(fewer(cupsAYard! + 1)).toBe(false);
  });

  it('lets the two cups of a colony ride apart', () => {
    const day = planDay(question({ yards: [yard('alder-07', twoEach(5))] }));
    expect(day.cups.map(({ cup, slot }) => `${cup.colony} ${slot.slot}`)).toEqual([
      ...['c1 1', 'c1 6', 'c2 2', 'c2 7', 'c3 3', 'c3 8', 'c4 4', 'c4 9', 'c5 5', 'c5 10'],
    ]);
  });

  it('holds in days of every length', () => {
    for (const drive of [0, 7, 30, 95, 200])
      for (const count of [1, 3, 8, 16])
        for (const [takeCup, turnCup] of [
          [1, 1],
          [3, 2],
          [12, 6],
          [25, 1],
        ] as const) {
          const asked = question({
            yards: ['a', 'b', 'c'].map((code) => yard(code, count, drive)),
            slots: slots(['A', 16]),
            ...{ takeCup: minutes(takeCup), turnCup: minutes(turnCup) },
          });
          const day = planDay(asked);
          expect(brokenIn(day, asked), `${drive} ${count} ${takeCup}`).toEqual([]);
          // Turning is as quick as taking, so nothing need be late, however the day lies.
          expect(about(day), `${drive} ${count} ${takeCup}`).not.toContain('window');
        }
  });

  it('takes a cup without strip as any other', () => {
    expect(planDay(question({ yards: [yard('a', [{ ...CUP, kind: 'no-strip' }])] })).cups).toHaveLength(1);
  });
});
