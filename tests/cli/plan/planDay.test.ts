import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readReadyCsv } from '../../../src/cli/csv/readyCsv.js';
import { run } from '../run.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-plan-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const file = (name: string, text?: string): string => {
  if (text !== undefined) writeFileSync(join(folder, name), text);
  return join(folder, name);
};
/** The evening before, in the yards' zone. */
const EVENING = '2026-05-13T01:00:00Z';
const day = (...args: string[]) =>
  run(['plan', 'day', '--zone', 'Etc/GMT+5', '--store', file('none.sqlite'), ...args], EVENING);
const CARRIERS = ['--carrier', 'A=10', '--carrier', 'B=10'];
const PLAN = `yard,cups,colony,kind,active,lot,drive
alder-07,2,c01,,amitraz strip,L7,
alder-07,1,c02,no-strip,,,
sedge-12,3,,,amitraz strip,L8,25
`;
const sentence = (text: string): string => text.replace(/\s+/g, ' ');

describe('plan day', () => {
  it('plans tomorrow from a file: steps, windows and slots, in 80 columns', async () => {
    const { code, out } = await day(file('plan.csv', PLAN), ...CARRIERS);
    expect(code).toBe(0);
    expect(out).toContain('Day 2026-05-13 in Etc/GMT+5');
    expect(out).toContain('07:00-07:09  load 3 cups at alder-07');
    expect(out).toContain('07:09-07:34  drive to sedge-12');
    expect(out).toContain('10:03-10:09  turn 3 cups of alder-07');
    // Cups without strip are handled first (docs/safety.md).
    expect(out).toMatch(/ {2}1 {2}c02 \(no strip\) {2}A:1 {3}07:03 {2}09:58-10:18 {3}10:03/);
    expect(out).toContain('Nothing clashes.');
    expect(Math.max(...out.split('\n').map(({ length }) => length))).toBeLessThanOrEqual(80);
  });

  it('plans the simple case without a file', async () => {
    const { code, out } = await day(
      '--yard',
      'alder-07=4',
      '--yard',
      'sedge-12',
      '--drive',
      '25',
      ...CARRIERS,
    );
    expect([code, out.includes('load 4 cups at alder-07'), out.includes('load 10 cups at sedge-12')]).toEqual(
      [0, true, true],
    );
  });

  it('ends with 3 when the day cannot be kept, says what would fit, and writes no plan', async () => {
    const yards = ['a', 'b', 'c', 'd'].flatMap((code) => ['--yard', code]);
    const { code, out, err } = await day(
      ...yards,
      '--drive',
      '60',
      '--carrier',
      'A=10',
      '--out',
      file('no.csv'),
    );
    expect(code).toBe(3);
    expect(sentence(out)).toMatch(
      /Too many yards for the day: the last cup is turned at \d\d:\d\d, not by 18:00\./,
    );
    expect(sentence(out)).toMatch(
      /What fits: a, b, c alone, until \d\d:\d\d; or at most \d cups in each yard\./,
    );
    expect(err).toContain('no.csv was not written');
    expect(existsSync(file('no.csv'))).toBe(false);
  });

  it('takes the slots of the store when it knows carriers, and says how long to warm them', async () => {
    const store = file('day.sqlite');
    const rom = '28-13-9B-BB-0B-00-00-1F';
    await run(['probe', 'assign', 'A:3', rom, '--store', store], EVENING);
    const { code, out, err } = await day('--yard', 'a=1', '--store', store);
    expect([code, out.includes('1 slot: A:3')]).toEqual([0, true]);
    expect(err).toContain('min before the first cup');
  });

  it('writes a plan with labels of its own each time, which reads back as it is', async () => {
    const plan = file('plan.csv', PLAN);
    await day(plan, ...CARRIERS, '--out', file('one.csv'));
    await day(plan, ...CARRIERS, '--out', file('two.csv'));
    const [one, two] = [await readReadyCsv(file('one.csv')), await readReadyCsv(file('two.csv'))];
    expect(one.map(({ carrier, slot, kind, colony, lot }) => [carrier, slot, kind, colony, lot])).toEqual([
      ['A', 1, 'no-strip', 'c02', null],
      ['A', 2, 'strip', 'c01', 'L7'],
      ['A', 3, 'strip', 'c01', 'L7'],
      ['A', 4, 'strip', null, 'L8'],
      ['A', 5, 'strip', null, 'L8'],
      ['A', 6, 'strip', null, 'L8'],
    ]);
    for (const { cup } of one) expect(cup).toMatch(/^260513-[0-9A-HJKMNP-TV-Z]{6}-0[1-6]$/);
    expect(new Set([...one, ...two].map(({ cup }) => cup)).size).toBe(12);
    const again = await day(plan, ...CARRIERS, '--out', file('one.csv'));
    expect([again.code, again.err]).toEqual([1, expect.stringContaining('nothing is overwritten')]);
  });

  it('keeps names that look like formulas as they are', async () => {
    const plan = file('plan.csv', 'yard,cups,colony\nalder-07,1,=1+1\n');
    await day(plan, ...CARRIERS, '--out', file('one.csv'));
    expect(readFileSync(file('one.csv'), 'utf8')).toContain("'=1+1");
    expect((await readReadyCsv(file('one.csv')))[0]!.colony).toBe('=1+1');
  });

  it('prints the same as JSON', async () => {
    const { out } = await day(file('plan.csv', PLAN), ...CARRIERS, '--json');
    const json = JSON.parse(out);
    expect(json).toMatchObject({
      day: '2026-05-13',
      zone: 'Etc/GMT+5',
      fits: true,
      clashes: [],
      whatFits: null,
    });
    expect(json.cups[0]).toMatchObject({
      ...{ yard: 'alder-07', kind: 'no-strip', slot: 'A:1', load: '2026-05-13T12:03:00.000Z' },
      ...{ from: '2026-05-13T14:58:00.000Z', to: '2026-05-13T15:18:00.000Z', cup: null },
    });
  });

  it.each([
    ['yard,cups\nalder-07,0\n', 'line 2, column cups: "0" will not do; give a whole number from 1 to 100'],
    ['yard,cups\nal der,1\n', 'line 2, column yard: "al der" is no yard code'],
    ['yard,cups\na,1\nb,1\na,1\n', 'line 4, column yard: yard a began on line 2'],
    ['yard,cups,kind\na,1,control\n', 'line 2, column kind: "control" is not a kind of cup'],
    ['yard,cups,drive\na,1,\nb,1,soon\n', 'line 3, column drive: "soon" will not do'],
    ['yard,cups,drive\na,1,\nb,1,5\nb,1,6\n', 'line 4, column drive: yard b already has 5 here'],
    ['yard,cups,arrive\na,1,9.30\n', 'line 2, column arrive: "9.30" is not a time; write HH:MM'],
    ['yard,cups,wash\na,1,3\n', 'line 1: unknown column "wash"'],
    [
      'yard,cups\na,1\nb,1\n',
      'How long is the drive to b? Write its minutes in the column drive, or give --drive.',
    ],
    ['yard,cups,visit,drive\na,1,v,\nb,1,v,5\n', 'line 3, column visit: visit v is that of yard a'],
    ['yard,cups,visit,drive\na,1,260513-b,\nb,1,,5\n', 'yards a and b would both be visit 260513-b'],
    ['yard,cups\n', 'there is no yard in this plan'],
  ])('refuses %j in a sentence', async (text, words) => {
    const { code, out, err } = await day(file('plan.csv', text), ...CARRIERS);
    expect([code, out]).toEqual([1, '']);
    expect(sentence(err)).toContain(words);
  });

  it.each([
    [['--yard', 'a'], 1, 'knows no slot with a probe; say which slots there are, as --carrier A=10'],
    [['--yard', 'a', '--carrier', 'A=17'], 1, '--carrier A=17 will not do'],
    [['--yard', 'a', '--carrier', 'A=3', '--carrier', 'A=3-4'], 1, 'Slot A:3 is given twice'],
    [['--yard', 'a', '--yard', 'a', '--drive', '5', ...CARRIERS], 1, 'Yard a is given twice'],
    [['--yard', 'a', '--date', '2026-02-30', ...CARRIERS], 1, '--date 2026-02-30 is not in the calendar'],
    [
      ['--yard', 'a', '--until', '01:00', ...CARRIERS],
      1,
      '--until 01:00 is not after --start 07:00; give a later time, and one after midnight with its day, as 2026-05-13T19:00:00-05:00.',
    ],
    [
      ['--yard', 'a', '--start', '2026-05-12T22:00:00-05:00', ...CARRIERS],
      1,
      '--start 2026-05-12T22:00:00-05:00 is on 2026-05-12 in Etc/GMT+5, and the plan is for 2026-05-13',
    ],
    [['--yard', 'a', '--minutes-a-cup', '0', ...CARRIERS], 1, '--minutes-a-cup 0 will not do'],
    [CARRIERS, 2, 'Say which yards'],
  ])('refuses %j in a sentence', async (args, exit, words) => {
    const { code, out, err } = await day(...args);
    expect([code, out]).toEqual([exit, '']);
    expect(sentence(err)).toContain(words);
  });

  it('names the day of what ends after midnight, and says when clocks are changed in between', async () => {
    const late = await day('--yard', 'a=10', ...CARRIERS, '--start', '21:00', '--until', '23:59');
    expect(sentence(late.out)).toContain('is turned at 00:30 on 2026-05-14, not by 23:59.');
    const night = ['--date', '2026-10-25', '--start', '01:00', ...CARRIERS];
    const changed = await day('--yard', 'a', '--zone', 'Europe/Vienna', ...night);
    const same = await day('--yard', 'a', ...night);
    // 01:03 and 180 min are 03:03 where 02:00 to 03:00 comes twice.
    expect(changed.out).toMatch(/01:03 +02:58-03:18 +03:03/);
    expect([changed.out, same.out].map((out) => out.includes('The clocks are changed meanwhile'))).toEqual([
      true,
      false,
    ]);
  });

  it('says why nobody can turn in time', async () => {
    const { out } = await day('--yard', 'a=10', ...CARRIERS, '--minutes-a-turn', '8');
    expect(sentence(out)).toMatch(/in time, up to \d+ min late: turning one takes longer than taking one\./);
  });

  it('refuses a time that the day has twice or never', async () => {
    const { code, err } = await day(
      '--yard',
      'a',
      '--zone',
      'Europe/Vienna',
      '--date',
      '2026-10-25',
      '--start',
      '02:30',
      ...CARRIERS,
    );
    expect([code, sentence(err)]).toEqual([1, expect.stringContaining('happens twice or never')]);
  });
});

describe('a plan that is ready', () => {
  const planned = async () => {
    await day(file('plan.csv', PLAN), ...CARRIERS, '--out', file('one.csv'));
    return readReadyCsv(file('one.csv'));
  };
  const on = () => ['--store', file('day.sqlite'), '--plan', file('one.csv')];
  const MORNING = '2026-05-13T12:03:00Z';

  it('opens the visit and loads its cups without typing anything twice', async () => {
    const cups = await planned();
    const opened = await run(['visit', 'open', '260513-alder-07', ...on(), '--json'], MORNING);
    expect(JSON.parse(opened.out)[0]).toMatchObject({
      ...{ yard: 'alder-07', zone: 'Etc/GMT+5', active: 'amitraz strip', lot: 'L7', declaredCups: 3 },
    });
    const rom = '28-13-9B-BB-0B-00-00-1F';
    await run(['probe', 'assign', 'A:1', rom, '--store', file('day.sqlite')], MORNING);
    const loaded = [];
    for (const { cup } of cups.slice(0, 2)) loaded.push(await run(['cup', 'load', cup, ...on()], MORNING));
    expect(loaded.map(({ code, out }) => [code, sentence(out).trim()])).toEqual([
      [
        0,
        `cup ${cups[0]!.cup} loaded at 2026-05-13T07:03:00-05:00, seated in A:1; visit 260513-alder-07, colony c02, no strip`,
      ],
      [
        0,
        `cup ${cups[1]!.cup} loaded at 2026-05-13T07:03:00-05:00, seated in A:2; visit 260513-alder-07, colony c01, lot L7`,
      ],
    ]);
    // Only the first slot has a probe.
    expect(loaded.map(({ err }) => err.includes('so the cup is not observed'))).toEqual([false, true]);
    const shown = await run(['cup', 'show', cups[1]!.cup, '--store', file('day.sqlite'), '--json'], MORNING);
    expect(shown.out).toContain('"c01"');
    const facts = JSON.parse(
      (await run(['cup', 'load', cups[2]!.cup, ...on(), '--colony', 'c09', '--json'], MORNING)).out,
    );
    expect(facts).toMatchObject([
      {
        type: 'cup-loaded',
        visit: '260513-alder-07',
        kind: 'strip',
        active: 'amitraz strip',
        lot: 'L7',
        colony: 'c09',
      },
      { type: 'cup-seated', carrier: 'A', slot: 3 },
    ]);
  });

  it('leaves active and lot to the cups where they differ', async () => {
    writeFileSync(file('two.csv'), 'yard,cups,active,lot\na,1,strip X,L1\na,1,strip X,L2\n');
    await day(file('two.csv'), ...CARRIERS, '--out', file('one.csv'));
    const opened = JSON.parse((await run(['visit', 'open', '260513-a', ...on(), '--json'], MORNING)).out);
    expect(opened[0]).toMatchObject({ active: 'strip X', lot: null });
  });

  it('is refused when its windows are from another rule set than the visit would have', async () => {
    writeFileSync(file('rules.json'), '{ "name": "slow", "version": 2, "exposureMinutesMax": 200 }');
    await day(file('plan.csv', PLAN), ...CARRIERS, '--rules', file('rules.json'), '--out', file('one.csv'));
    const without = await run(['visit', 'open', '260513-alder-07', ...on()], MORNING);
    expect([without.code, sentence(without.err)]).toEqual([
      1,
      expect.stringContaining(
        'was planned with rule set slow 2, and would be opened with default 1; give the rules of the plan',
      ),
    ]);
    const given = ['--rules', file('rules.json')];
    expect((await run(['visit', 'open', '260513-alder-07', ...on(), ...given], MORNING)).code).toBe(0);
  });

  it('is refused with a rule set that kept its name and changed its minutes, unless that is given', async () => {
    writeFileSync(file('rules.json'), '{ "exposureMinutesMax": 200 }');
    const rules = ['--rules', file('rules.json')];
    await day(file('plan.csv', PLAN), ...CARRIERS, ...rules, '--out', file('one.csv'));
    const without = await run(['visit', 'open', '260513-alder-07', ...on()], MORNING);
    expect([without.code, sentence(without.err)]).toEqual([
      1,
      expect.stringContaining('has other turn windows in the plan than rule set default 1 gives'),
    ]);
    expect((await run(['visit', 'open', '260513-alder-07', ...on(), ...rules], MORNING)).code).toBe(0);
  });

  it('says when it is of another day, and opens the visit all the same', async () => {
    await planned();
    const today = await run(['visit', 'open', '260513-alder-07', ...on()], MORNING);
    const later = await run(['visit', 'open', '260513-sedge-12', ...on()], '2026-05-14T12:00:00Z');
    expect([today.code, later.code]).toEqual([0, 0]);
    expect(today.err).not.toContain('was planned for');
    expect(sentence(later.err)).toContain(
      'Visit 260513-sedge-12 was planned for 2026-05-13, and today is 2026-05-14: its labels will do, its times will not.',
    );
  });

  it('declares in each of two vehicles the cups for its own carriers, and says so', async () => {
    await day('--yard', 'a=14', '--carrier', 'A=10', '--carrier', 'B=4', '--out', file('one.csv'));
    const declared = async (carrier: string, store: string, ...more: string[]) => {
      const args = ['--store', file(store), '--plan', file('one.csv'), ...more];
      await run(['probe', 'assign', `${carrier}:1`, '28-13-9B-BB-0B-00-00-1F', ...args.slice(0, 2)], MORNING);
      const { out, err } = await run(['visit', 'open', '260513-a', ...args, '--json'], MORNING);
      return [JSON.parse(out)[0].declaredCups, sentence(err).includes('left to another vehicle')];
    };
    expect(await declared('A', 'a.sqlite')).toEqual([10, true]);
    expect(await declared('B', 'b.sqlite')).toEqual([4, true]);
    expect(await declared('C', 'c.sqlite')).toEqual([14, false]);
    expect(await declared('A', 'd.sqlite', '--cups', '14')).toEqual([14, false]);
  });

  it('loads a cup without seating it, and names the visit that is to be opened for one of another yard', async () => {
    const cups = await planned();
    await run(['visit', 'open', '260513-alder-07', ...on()], MORNING);
    const facts = await run(['cup', 'load', cups[0]!.cup, ...on(), '--slot', 'none', '--json'], MORNING);
    expect(JSON.parse(facts.out)).toMatchObject([{ type: 'cup-loaded', colony: 'c02' }]);
    const other = await run(['cup', 'load', cups[3]!.cup, ...on()], MORNING);
    expect([other.code, sentence(other.err)]).toEqual([
      1,
      expect.stringContaining(
        'is planned for visit 260513-sedge-12, which is not open here; take a label of this yard',
      ),
    ]);
  });

  it('is not the file that people write, and says where it comes from', async () => {
    const { code, err } = await run(['plan', 'sheet', file('plan.csv', PLAN)]);
    expect([code, sentence(err)]).toEqual([1, expect.stringContaining('line 1: unknown column "cups"')]);
    expect(err).toContain('such a file is made by plan day --out');
  });

  it('is no plan that people write either, and says what it is for', async () => {
    await planned();
    const { code, err } = await day(file('one.csv'), ...CARRIERS);
    expect([code, sentence(err)]).toEqual([1, expect.stringContaining('unknown column "zone"')]);
    expect(sentence(err)).toContain('what plan day --out wrote is for plan sheet, plan labels and --plan');
  });

  it('is refused for a visit or a cup that it does not have, and for one without a yard', async () => {
    await planned();
    const visit = await run(['visit', 'open', 'v1', ...on()], MORNING);
    expect([visit.code, visit.err]).toEqual([
      1,
      expect.stringContaining('has no visit v1; it has 260513-alder-07'),
    ]);
    const cup = await run(['cup', 'load', 'C-1', ...on()], MORNING);
    expect([cup.code, cup.err]).toEqual([1, expect.stringContaining('has no cup C-1')]);
  });

  it.each([
    [(text: string) => text.replace(/-02,A,2/, '-01,A,2'), 'line 3, column cup: label'],
    [(text: string) => text.replace(',A,2,', ',A,17,'), 'line 3, column slot: "17" will not do'],
    [
      (text: string) => text.replace('T09:58:00-05:00', 'T06:58:00-05:00'),
      'line 2, column load: load, from and to',
    ],
    [(text: string) => text.replace(',A,2,', ',A,1,'), 'line 3, column slot: slot A:1 holds cup 260513-'],
    [
      (text: string) => text.replace(/(\r\n.*\r\n260513-alder-07,)alder-07/, '$1oak-03'),
      'line 3, column yard: oak-03 here, and alder-07 in the rows of visit 260513-alder-07 above; write the same',
    ],
    [(text: string) => text.split('\r\n')[0]!, 'there is no cup in this plan'],
  ])('is refused with file, line and column when it was spoiled by hand', async (spoil, words) => {
    await planned();
    writeFileSync(file('one.csv'), spoil(readFileSync(file('one.csv'), 'utf8')));
    const { code, err } = await run(['plan', 'labels', file('one.csv')]);
    expect([code, sentence(err)]).toEqual([1, expect.stringContaining(words)]);
  });
});
