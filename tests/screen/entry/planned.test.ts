import { describe, expect, it } from 'vitest';
import { placeNow } from '../../../src/visit/cup.js';
import { CUP, ready, yard } from '../../plan/invented.js';
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

  it('has nothing to say of a cup of another visit', () => {
    desk.type('15\nother\noak-03\n\n\n3\n\n');
    desk.type(`*1\n${PLAN[1]!.cup}\n`);
    expect(desk.shown()).toContain('With a strip? Enter: yes');
    desk.type('\n');
    expect(desk.shown()).toContain('From which colony? Enter: not told');
  });
});

describe('a plan with another rule set', () => {
  const desk = eachOnDesk(PLAN.map((cup) => ({ ...cup, rules: 'slow 2' })));
  it('is not opened here, for its windows would not be those of the screen', () => {
    desk.type('15\n\n');
    expect(desk.shown().replace(/\s+/g, ' ')).toContain(
      'was planned with rule set slow 2; open it with visit open --plan and --rules.',
    );
  });
});
