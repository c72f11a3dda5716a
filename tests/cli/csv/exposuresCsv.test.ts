import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readExposuresCsv } from '../../../src/cli/csv/exposuresCsv.js';
import type { Exposure } from '../../../src/exposure/types.js';
import { formatInstant } from '../../../src/units/time.js';
import { at, exposure, seating } from '../../exposure/traces.js';
import { allInNewFolder } from '../../tools/newFolder.js';
import { refusalOf as sentenceOf } from '../../units/refusalOf.js';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

function read(content: string): Promise<Exposure[]> {
  writeFileSync(join(folder, 'exposures.csv'), content);
  return readExposuresCsv(join(folder, 'exposures.csv'));
}

const refusalOf = (content: string): Promise<string> => sentenceOf(read(content), folder);

const time = (minute: number): string => formatInstant(at(minute));

describe('readExposuresCsv()', () => {
  it('gathers the rows of a cup, wherever they stand, in order of first appearance', async () => {
    const rows = [
      `B,P,${time(0)},${time(180)},${time(2)},${time(90)},0.25`,
      `A-1,R,${time(0)},${time(170)},,,`,
      `B,Q,${time(0)},${time(180)},${time(90)},,`,
    ];
    expect(await read(`cup,probe,load,turn,from,to,uncertainty\n${rows.join('\n')}`)).toEqual([
      exposure(180, { cup: 'B', seatings: [seating('P', 2, 90, 0.25), seating('Q', 90, 180, 0.858)] }),
      exposure(170, { seatings: [seating('R', 0, 170, 0.858)] }),
    ]);
  });

  it('accepts seatings that meet in an instant, reach past the exposure, or share a probe', async () => {
    const rows = [
      `A,P,${time(0)},${time(180)},${time(-5)},${time(90)}`,
      `A,P,${time(0)},${time(180)},${time(90)},${time(200)}`,
      `B,P,${time(0)},${time(180)},,`,
    ];
    const cups = await read(`cup,probe,load,turn,from,to\n${rows.join('\n')}`);
    expect(cups.map(({ seatings }) => seatings.length)).toEqual([2, 1]);
  });

  const [load, turn] = [time(0), time(180)];
  it.each([
    [
      'a turn before the load',
      `A,P,${turn},${load},,,`,
      /line 2, column turn: cup A is turned before it is loaded/,
    ],
    [
      'another load in a second row',
      `A,P,${load},${turn},,${time(9)},\nA,Q,${time(1)},${turn},${time(9)},,`,
      /line 3, column load: cup A has another load on line 2/,
    ],
    [
      'another turn in a second row',
      `A,P,${load},${turn},,${time(9)},\nA,Q,${load},${time(181)},${time(9)},,`,
      /line 3, column turn: cup A has another turn on line 2/,
    ],
    [
      'a seating that ends before it begins',
      `A,P,${load},${turn},${time(9)},${time(8)},`,
      /line 2, column to: the seating ends before it begins/,
    ],
    [
      'a seating after the turn',
      `A,P,${load},${turn},${time(200)},${time(201)},`,
      /line 2, column from: the seating begins after the turn/,
    ],
    [
      'a seating before the load',
      `A,P,${load},${turn},${time(-9)},${time(-8)},`,
      /line 2, column to: the seating ends before the load/,
    ],
    [
      'seatings that overlap',
      `A,P,${load},${turn},,${time(9)},\nB,P,${load},${turn},,,\nA,Q,${load},${turn},${time(8)},,`,
      /line 4, column from: cup A already sits in another slot by line 2/,
    ],
    [
      'the same row twice',
      `A,P,${load},${turn},,,\nA,P,${load},${turn},,,`,
      /line 3, column from: cup A already sits/,
    ],
    [
      'a negative uncertainty',
      `A,P,${load},${turn},,,-1`,
      /line 2, column uncertainty: "-1" is not an uncertainty/,
    ],
    ['an uncertainty with a comma', `A,P,${load},${turn},,,"0,5"`, /line 2, column uncertainty/],
    ['no cup', `,P,${load},${turn},,,`, /line 2, column cup: the cell is empty/],
    ['no probe', `A,,${load},${turn},,,`, /line 2, column probe: the cell is empty/],
    ['no load', `A,P,,${turn},,,`, /line 2, column load: "" is not a time/],
    ['a clock time', `A,P,08:00,${turn},,,`, /line 2, column load: "08:00" is not a time/],
  ])('refuses exposures with %s', async (_, lines, message) => {
    const exposures = `cup,probe,load,turn,from,to,uncertainty\n${lines}\n`;
    expect(await refusalOf(exposures)).toMatch(message);
  });
});
