import { describe, expect, it } from 'vitest';
import { later, minutes } from '../../../src/units/time.js';
import { placeNow } from '../../../src/visit/cup.js';
import { CUP, ready, slots, yard } from '../../plan/invented.js';
import { eachOnDesk } from './onDesk.js';

const COLONY = { ...CUP, colony: 'c1', group: 'M1', active: 'amitraz strip' };
const PLAN = ready({
  yards: [
    yard('alder-07', [
      { ...CUP, kind: 'no-strip', colony: 'c2' },
      { ...COLONY, lot: 'L7' },
      { ...COLONY, lot: 'L8' },
    ]),
    yard('sedge-12', 1, 25),
  ],
});

describe('a plan on the screen', () => {
  const desk = eachOnDesk(PLAN);

  it('answers the opening of each visit and the loading of each cup by Enter alone', () => {
    desk.type('15\n\n\n\n\n\n\n');
    expect([...desk.season().visits.values()]).toMatchObject([
      {
        visit: '260513-alder-07',
        yard: 'alder-07',
        zone: 'Etc/GMT+5',
        active: 'amitraz strip',
        lot: null,
        declaredCups: 3,
      },
    ]);
    desk.type('*1\n\n\n\n\n\n\n\n\n\n\n');
    expect(desk.cup(PLAN[0]!.cup)).toMatchObject({ kind: 'no-strip', colony: 'c2', active: null });
    expect(desk.cup(PLAN[1]!.cup)).toMatchObject({
      ...{ kind: 'strip', colony: 'c1', group: 'M1', active: 'amitraz strip', lot: 'L7' },
    });
    expect(placeNow(desk.cup(PLAN[1]!.cup))).toMatchObject({ carrier: 'A', slot: 2 });
    desk.type('*15\n');
    expect(desk.shown()).toContain('Name of the visit? Enter: 260513-sedge-12');
  });

  it('takes the label that is scanned with what is planned for it, and lets every answer be another', () => {
    desk.type('15\n\n\n\n\n\n\n');
    desk.type(`*1\n${PLAN[2]!.cup}\n\nc9\n0\n\n`);
    expect(desk.cup(PLAN[2]!.cup)).toMatchObject({ colony: 'c9', group: null, lot: 'L8' });
    expect(placeNow(desk.cup(PLAN[2]!.cup))).toBeNull();
  });

  it('asks as ever for a slot when the planned one is taken', () => {
    desk.type('15\n\n\n\n\n\n\n');
    desk.type(`*1\nC-1\n\n\nA:3\n\n`);
    desk.type(`*1\n${PLAN[2]!.cup}\n\n\n`);
    expect(desk.shown()).toContain('Which slot? Free: A:1 A:2. Enter: none yet');
  });

  it('offers no label that is planned for another cup to one that takes its place', () => {
    desk.type('15\n\n\n\n\n\n\n');
    desk.type('*1\n\n\n\n\n\n');
    desk.type(`*9\n${PLAN[0]!.cup}\n\n`);
    expect(desk.shown()).toContain('Enter: 260513-7KQ2MH-05');
  });

  it('says of a label that was scanned by mistake that it is planned for another yard, or for no cup', () => {
    const said = () => desk.shown().replace(/\s+/g, ' ');
    desk.type('15\n\n\n\n\n\n\n');
    desk.type(`*1\n${PLAN[3]!.cup}\n`);
    expect(said()).toContain(`${PLAN[3]!.cup} is planned for visit 260513-sedge-12 to yard sedge-12.`);
    expect(said()).toContain('With a strip? Enter: yes');
    desk.type('\n');
    expect(said()).toContain('From which colony? Enter: not told');
    desk.type('\n\n');
    expect(said()).toContain(`Load ${PLAN[3]!.cup} (planned for visit 260513-sedge-12 to yard sedge-12)`);
    desk.type(`*****1\n260512-ABCDEF-03\n`);
    expect(said()).toContain('260512-ABCDEF-03 is not in the plan: a spare one, or of another day.');
    desk.type(`***1\n${PLAN[1]!.cup}\n`);
    expect(said()).toContain('With a strip? Enter: yes');
    expect(said()).not.toMatch(/not in the plan|is planned for/);
  });

  it('says nothing of labels in a visit that nobody planned, but of those that are planned elsewhere', () => {
    desk.type('15\nother\noak-03\n\n\n3\n\n');
    desk.type(`*1\nC-1\n`);
    expect(desk.shown()).not.toContain('the plan');
    desk.type(`***1\n${PLAN[1]!.cup}\n`);
    expect(desk.shown().replace(/\s+/g, ' ')).toContain('is planned for visit 260513-alder-07');
  });

  it('gives no planned label to a cup in the place of another', () => {
    desk.type('15\n\n\n\n\n\n\n');
    desk.type('*1\n\n\n\n\n\n');
    desk.type(`*9\n${PLAN[0]!.cup}\n\n${PLAN[2]!.cup}\n`);
    expect(desk.shown().replace(/\s+/g, ' ')).toContain(
      `${PLAN[2]!.cup} is planned for another cup; take a spare label`,
    );
    desk.type(`${'\b'.repeat(20)}260513-7KQ2MH-05\n\n\n`);
    expect(desk.cup('260513-7KQ2MH-05')).toMatchObject({ colony: 'c2' });
  });

  it('offers the planned slot to a cup that was loaded without one', () => {
    desk.type('15\n\n\n\n\n\n\n');
    desk.type(`*1\n${PLAN[1]!.cup}\n\n\n0\n\n*2\n\n`);
    expect(desk.shown()).toContain('Which slot? Enter: A:2, as planned');
    desk.type('\n\n');
    expect(placeNow(desk.cup(PLAN[1]!.cup))).toMatchObject({ carrier: 'A', slot: 2 });
  });

  it('says when the plan is of another day, and only then', () => {
    const said = () => desk.shown().replace(/\s+/g, ' ');
    desk.type('15\n\n');
    expect(said()).toContain('was planned for 2026-05-13, and today is 2026-05-12');
    desk.now = PLAN[0]!.load;
    desk.type('**15\n\n');
    expect(said()).toContain('code name');
    expect(said()).not.toContain('was planned for');
  });
});

describe('a plan with another rule set', () => {
  const desk = eachOnDesk(PLAN.map((cup) => ({ ...cup, rules: 'slow 2' })));
  it('is not opened here, for its windows would not be those of the screen', () => {
    desk.type('15\n\n');
    expect(desk.shown().replace(/\s+/g, ' ')).toContain(
      'was planned with rule set slow 2, and would be opened with default 1; open it with visit open --plan and --rules.',
    );
  });
});

describe('a plan with other minutes under the same name', () => {
  const desk = eachOnDesk(PLAN.map((cup) => ({ ...cup, to: later(cup.to, minutes(5)) })));
  it('is not opened here either', () => {
    desk.type('15\n\n');
    expect(desk.shown().replace(/\s+/g, ' ')).toContain(
      'has other turn windows in the plan than rule set default 1 gives; open it with visit open --plan and --rules.',
    );
  });
});

describe('a plan for two vehicles', () => {
  const TWO = ready({ yards: [yard('alder-07', 14)], slots: slots(['B', 4], ['A', 10]) });
  const desk = eachOnDesk(TWO);
  it('declares and offers the cups of the carriers that are here', () => {
    expect(TWO[0]).toMatchObject({ carrier: 'B' });
    desk.type('15\n\n\n\n\n');
    expect(desk.shown().replace(/\s+/g, ' ')).toContain(
      '4 of the 14 cups of visit 260513-alder-07 are planned for carrier B, which this store does not know: left to another vehicle, so 10 are declared here.',
    );
    desk.type('\n\n*1\n');
    expect([...desk.season().visits.values()]).toMatchObject([{ declaredCups: 10 }]);
    const here = TWO.filter(({ carrier }) => carrier === 'A');
    expect(desk.shown()).toContain(`Enter: ${here[0]!.cup}`);
    desk.type('\n'.repeat(5 * here.length));
    expect(desk.season().cups.size).toBe(here.length);
    // All of them are loaded: none of the other vehicle's is offered.
    for (const { cup } of TWO) expect(desk.shown()).not.toContain(`Enter: ${cup}`);
  });
});
