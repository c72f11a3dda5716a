import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type EfficacyReport, efficacyReport } from '../../../shared/index.js';
import { type EfficacyCommand, parseRecovery, runEfficacy } from '../../../src/cli/judging/efficacy.js';
import { Refusal } from '../../../src/units/refusal.js';
import { realCups, strip } from '../../shared/reference.js';
import { allInNewFolder } from '../../tools/newFolder.js';
import { refusalOf as sentenceOf } from '../../units/refusalOf.js';

const HEADER = 'yard,cup,kind,tray,wash,bees';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

type Options = Omit<EfficacyCommand, 'counts' | 'json'>;

async function outputOf(lines: readonly string[], options: Options = {}, json = false): Promise<string> {
  const counts = join(folder, 'counts.csv');
  writeFileSync(counts, `${lines.join('\n')}\n`);
  const printed: string[] = [];
  const silent = (text: string): void => {
    throw new Error(`printed on stderr: ${text}`);
  };
  await runEfficacy({ counts, json, ...options }, { out: (text) => printed.push(text), err: silent }).catch(
    (error: unknown) => {
      expect(printed).toEqual([]);
      throw error;
    },
  );
  return printed.join('');
}

const reportOf = async (lines: readonly string[], options: Options = {}): Promise<EfficacyReport> =>
  JSON.parse(await outputOf(lines, options, true)) as EfficacyReport;

const refusalOf = (lines: readonly string[], options: Options = {}): Promise<string> =>
  sentenceOf(outputOf(lines, options), folder);

/** Yard A of the real cups, as a file. */
const yardA = [
  `${HEADER},colony,group`,
  ...realCups('A').map(({ cup, tray, wash, bees, colony, group }) =>
    ['A', cup, 'strip', tray, wash, bees, colony, group].join(','),
  ),
];

describe('runEfficacy() with --json', () => {
  it('prints the report of efficacyReport()', async () => {
    expect(await reportOf(yardA)).toEqual(efficacyReport(realCups('A')));
    expect((await outputOf(yardA, {}, true)).endsWith('}\n')).toBe(true);
  });

  it('has exactly the keys of the contract', async () => {
    const report = await reportOf([...yardA, 'A,N1,no-strip,1,9,300,,'], { recovery: '637/47' });
    expect(Object.keys(report)).toEqual(['level', 'yards', 'cups']);
    expect(Object.keys(report.yards[0] ?? {}).sort()).toEqual(
      [
        'yard,arm,verdict,efficacy,interval,designEffect,effectiveMites,cups,tray,wash,naiveInterval,meanOfCups',
        'betaBinomial,byGroup,moreCups,allCups,control,infestation,recovery,remarks',
      ]
        .join()
        .split(',')
        .sort(),
    );
    expect(Object.keys(report.yards[0]?.cups ?? {})).toEqual(['valid', 'excluded', 'unread', 'empty']);
    expect(Object.keys(report.yards[0]?.control ?? {}).sort()).toEqual(
      ['cups', 'tray', 'wash', 'fall', 'fallInterval', 'efficacyCorrected', 'interval'].sort(),
    );
    expect(Object.keys(report.yards[0]?.byGroup ?? {})).toEqual(['k', 'designEffect', 'interval']);
    expect(Object.keys(report.cups[0] ?? {}).sort()).toEqual(
      'yard,cup,efficacy,wilson,clopperPearson,jeffreys,per100,remarks'.split(',').sort(),
    );
    expect(Object.keys(report.yards[0]?.recovery ?? {}).sort()).toEqual(
      ['q', 'qInterval', 'efficacyCorrected', 'interval'].sort(),
    );
    const plain = (await reportOf(yardA)).yards[0];
    expect(plain).not.toHaveProperty('recovery');
    expect(plain).not.toHaveProperty('looks');
  });

  it('takes an empty count as not read, no ruling as valid, and columns in any order', async () => {
    const report = await reportOf([
      'ruling,kind,cup,yard,wash,tray,bees,arm',
      ',strip,C1,Y,3,7,,',
      'cold,strip,C2,Y,5,,300,',
      ',strip,C3,Y,,0,300,',
      ',strip,C4,Y,1,1,300,lot 2',
    ]);
    expect(report.yards.map(({ arm, cups }) => [arm, cups])).toEqual([
      [null, { valid: 2, excluded: 1, unread: 1, empty: 0 }],
      ['lot 2', { valid: 1, excluded: 0, unread: 0, empty: 0 }],
    ]);
    expect(report.yards[0]?.efficacy).toBe(0.7);
  });

  it('judges against --line', async () => {
    const lines = [HEADER, ...[1, 2, 3, 4, 5, 6].map((n) => `Y,C${n},strip,8,2,300`)];
    expect((await reportOf(lines, { line: 0.5 })).yards[0]?.verdict).toBe('above-line');
    expect((await reportOf(lines, { line: 0.95 })).yards[0]?.verdict).toBe('below-line');
    expect((await reportOf(lines)).yards[0]?.verdict).toBe('undecided');
  });
});

describe('runEfficacy() in words', () => {
  it('names the line, the interval, the infestation and both biases', async () => {
    const text = await outputOf(yardA);
    expect(text).toContain('Yard A\n');
    expect(text).toContain(
      'pooled raw efficacy 51.3 % (95 % interval 28.5 % to 73.6 %): undecided about the 70 % line',
    );
    expect(text).toContain('mean of cups, raw, 46.7 %, for comparison');
    expect(text).toContain('12 more cups would decide with a chance of 80 %');
    expect(text).toContain('infestation 5.1 mites per 100 bees (3.4 to 6.7)');
    expect(text).toContain('survivors that the wash missed');
    expect(text.replace(/\s+/g, ' ')).toContain('fallen without a strip');
    expect(text).toContain('make the product look better than it is.\n');
  });

  it('shows the estimate with and without what was ruled out', async () => {
    const lines = [
      `${HEADER},ruling`,
      ...[1, 2, 3, 4, 5, 6].map((n) => `Y,V${n},strip,10,0,300,valid`),
      ...[1, 2, 3, 4].map((n) => `Y,X${n},strip,0,15,300,cold`),
    ];
    const text = await outputOf(lines);
    expect(text).toContain('efficacy 100.0 %');
    expect(text).toContain('cups with a strip: 6 used, 4 ruled out, 0 not read, 0 without mites');
    expect(text).toContain('with every read cup that was not spoiled: pooled raw efficacy 50.0 %');
  });

  it('shows the corrections under their own names', async () => {
    const text = await outputOf([...yardA, 'A,N1,no-strip,1,9,300,,'], { recovery: '0.9' });
    expect(text).toContain('corrected for natural fall alone, every mite taken as independent: 45.8 %');
    // Wilson's limits of 1/10, .0179 and .4042, computed by R 4.2.2 (prop.test without its correction).
    expect(text).toContain(
      'from 1 cup without strip, 1 of 10 mites fell, 10.0 % (95 % interval 1.8 % to 40.4 %)',
    );
    expect(text).toContain('corrected for missed survivors alone: 48.6 %');
    expect(text).toContain('from a wash finding 90.0 %, taken as known');
    expect(await outputOf(yardA, { recovery: '9/1' })).toContain(
      'from a wash finding 90.0 % (95 % interval 59.6 % to 98.2 %)',
    );
    expect(text).toContain('efficacy 51.3 %');
  });

  it('compares two arms within colonies and never pools them', async () => {
    const text = await outputOf([
      `${HEADER},arm,colony`,
      ...[8, 6, 9].map((tray, i) => `Y,a${i},strip,${tray},${10 - tray},300,lot 1,K${i}`),
      ...[3, 2, 5, 5].map((tray, i) => `Y,b${i},strip,${tray},${10 - tray},300,lot 2,K${i}`),
    ]);
    expect(text).toContain('Yard Y, arm lot 1 less arm lot 2, within the colonies that have cups in both');
    expect(text).toContain('difference of pooled raw efficacies 43.3 points (95 % interval');
    expect(text).toContain('76.7 % less 33.3 % in 3 colonies');
    expect(text).toContain('in one arm only: 0 and 1 colonies');
    expect(text).not.toContain('efficacy 54.3 %');
  });

  it('says the level that more than one look leaves to each', async () => {
    const text = await outputOf(yardA, { looks: 2 });
    expect(text).toContain('pooled raw efficacy 51.3 % (97.5 % interval');
    expect(text).toContain('one of 2 looks at this yard');
    await expect(outputOf(yardA, { looks: 0 })).rejects.toThrow('--looks is 0; give a whole number');
  });

  it('prints nothing odd for a yard of which nothing is known', async () => {
    const text = await outputOf([HEADER, 'Y,C1,strip,,,', 'Z,C1,strip,3,1,']);
    expect(text).toContain('efficacy not known: too few');
    expect(text).toContain('efficacy 75.0 % (no interval): too few');
    expect(text).not.toMatch(/NaN|null|undefined|Infinity/);
  });
});

describe('runEfficacy() refuses', () => {
  it.each([
    ['Y,C1,strip,"1,5",3,300', 'tray', 'give a whole number from 0 to 10000, or leave the cell empty'],
    ['Y,C1,strip,3,3.2,300', 'wash', 'give a whole number'],
    ['Y,C1,strip,-1,3,300', 'tray', 'give a whole number'],
    ['Y,C1,strip,1,3,1e3', 'bees', 'give a whole number'],
    ['Y,C1,strip,1, 3,300', 'wash', 'give a whole number'],
    ['Y,C1,strip,1,3,10001', 'bees', 'whole number from 0 to 10000'],
    ['Y,C1,strip,4,5,8', 'bees', 'fewer than its 9 mites'],
    ['Y,C1,Strip,4,5,300', 'kind', 'give strip or no-strip'],
    ['Y,,strip,4,5,300', 'cup', 'every row needs its cup'],
    [',C1,strip,4,5,300', 'yard', 'every row needs its yard'],
    ['Y ,C1,strip,4,5,300', 'yard', 'no space around'],
    ['Y,C0,strip,4,5,300', 'cup', 'already stands on line 2; keep one of the two rows'],
  ])('%s and names the column %s', async (row, column, cure) => {
    const message = await refusalOf([HEADER, 'Y,C0,strip,1,1,300', row]);
    expect(message).toContain(`counts.csv, line 3, column ${column}: `);
    expect(message).toContain(cure);
    expect(message).not.toContain('\n');
  });

  it('an unknown ruling, with the known ones', async () => {
    const message = await refusalOf([`${HEADER},ruling`, 'Y,C1,strip,1,1,300,chilly']);
    expect(message).toContain(
      'line 2, column ruling: "chilly" is not a ruling; give one of valid, cold, hot',
    );
  });

  it('a missing column, an unknown column, and a file that is not there', async () => {
    expect(await refusalOf(['yard,cup,kind,tray,wash', 'Y,C1,strip,1,1'])).toContain('bees');
    expect(await refusalOf([`${HEADER},notes`, 'Y,C1,strip,1,1,300,x'])).toContain('notes');
    const gone = runEfficacy(
      { counts: join(folder, 'gone.csv'), json: true },
      { out: () => {}, err: () => {} },
    );
    await expect(gone).rejects.toBeInstanceOf(Refusal);
  });

  it.each([
    [{ line: 70 }, '--line is 70; give a share between 0 and 1'],
    [{ line: Number.NaN }, '--line is NaN; give a share'],
    [{ recovery: '1.2' }, '--recovery is "1.2"; give the share'],
    [{ recovery: '0/5' }, '--recovery is "0/5"'],
    [{ recovery: '90%' }, '--recovery is "90%"'],
  ])('the option %j', async (options, message) => {
    expect(await refusalOf(yardA, options)).toContain(message);
  });
});

describe('parseRecovery()', () => {
  it('takes a share or two washes', () => {
    expect(parseRecovery('0.95')).toEqual({ q: 0.95 });
    expect(parseRecovery('1')).toEqual({ q: 1 });
    expect(parseRecovery('637/47')).toEqual({ first: 637, second: 47 });
  });
});

describe('the checks above', () => {
  it('would notice an unread count taken as 0', () => {
    const asZero = efficacyReport([strip(7, 3, { cup: 'C1' }), strip(0, 5, { cup: 'C2' })]);
    expect(asZero.yards[0]?.efficacy).not.toBe(0.7);
  });
});
