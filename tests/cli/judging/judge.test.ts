import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { runJudge } from '../../../src/cli/judging/judge.js';
import { DEFAULT_RULES, rulesToJson } from '../../../src/exposure/ruleSet.js';
import type { RulingJson } from '../../../src/exposure/rulingJson.js';
import { formatInstant } from '../../../src/units/time.js';
import { at } from '../../exposure/traces.js';
import { allInNewFolder } from '../../tools/newFolder.js';
import { refusalOf as sentenceOf } from '../../units/refusalOf.js';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

interface Files {
  readonly readings: string;
  readonly exposures: string;
  readonly rules?: string;
}

async function run(
  files: Files,
  json = true,
  thresholdSweep?: string,
): Promise<{ out: string[]; err: string[] }> {
  const path = (name: string, content: string) => {
    writeFileSync(join(folder, name), content);
    return join(folder, name);
  };
  const out: string[] = [];
  const err: string[] = [];
  await runJudge(
    {
      readings: path('readings.csv', files.readings),
      exposures: path('exposures.csv', files.exposures),
      ...(files.rules === undefined ? {} : { rules: path('rules.json', files.rules) }),
      ...(thresholdSweep === undefined ? {} : { thresholdSweep }),
      json,
    },
    { out: (text) => out.push(text), err: (text) => err.push(text) },
  );
  return { out, err };
}

interface Output {
  readonly rules: Record<string, unknown>;
  readonly cups: readonly RulingJson[];
}
const judged = async (files: Files): Promise<Output> =>
  JSON.parse((await run(files)).out.join('\n')) as Output;

const refusalOf = (files: Files): Promise<string> => sentenceOf(run(files), folder);

const time = (minute: number): string => formatInstant(at(minute));
const rows = (probe: string, from: number, to: number, celsius: number | string, step = 0.5): string[] =>
  Array.from({ length: Math.round((to - from) / step) + 1 }, (_, index) =>
    [probe, time(from + index * step), celsius].join(','),
  );
const readingsCsv = (...lines: string[]): string => `probe,time,celsius\n${lines.join('\n')}\n`;
const exposuresCsv = (...lines: string[]): string => `cup,probe,load,turn\n${lines.join('\n')}\n`;
const ONE_CUP = exposuresCsv(`A-1,P,${time(0)},${time(180)}`);

describe('runJudge()', () => {
  it('prints the rule set and a ruling for each cup in order of first appearance', async () => {
    const output = await judged({
      readings: readingsCsv(...rows('P', 0, 180, 30), ...rows('Q', 0, 180, 12)),
      exposures: exposuresCsv(
        `B-2,Q,${time(0)},${time(180)}`,
        `A-1,P,${time(0)},${time(180)}`,
        `C-3,R,${time(0)},${time(180)}`,
      ),
    });
    expect(output.rules).toEqual(rulesToJson(DEFAULT_RULES));
    expect(output.cups.map(({ cup, ruling }) => [cup, ruling])).toEqual([
      ['B-2', 'cold'],
      ['A-1', 'valid'],
      ['C-3', 'unproven'],
    ]);
    expect(output.cups[1]).toEqual({
      cup: 'A-1',
      ruling: 'valid',
      reasons: [],
      exposureMinutes: 180,
      observedMinutes: 180,
      coldMinutes: { certain: 0, possible: 0 },
      longestColdSpellMinutes: { certain: 0, possible: 0 },
      hotMinutes: { certain: 0, possible: 0 },
      longestHotSpellMinutes: { certain: 0, possible: 0 },
      minCelsius: 30,
      maxCelsius: 30,
      meanCelsius: 30,
      degreeMinutesBelow: 0,
      gaps: [],
      remarks: [],
    });
  });

  it('takes offsets of time zones, and several seatings with their own ends', async () => {
    // 08:00+02:00 is 06:00Z
    const output = await judged({
      readings: readingsCsv(...rows('P', 0, 90, 30), ...rows('Q', 92, 180, 30)),
      exposures: [
        'cup,probe,load,turn,from,to,uncertainty',
        'A-1,P,2026-05-01T08:00:00+02:00,2026-05-01T11:00:00+02:00,,2026-05-01T09:30:00+02:00,',
        'A-1,Q,2026-05-01T06:00:00Z,2026-05-01T09:00:00Z,2026-05-01T07:32:00Z,,0.25',
      ].join('\r\n'),
    });
    expect(output.cups[0]).toMatchObject({
      ruling: 'valid',
      observedMinutes: 178,
      gaps: [{ from: '2026-05-01T07:30:00.000Z', to: '2026-05-01T07:32:00.000Z' }],
    });
  });

  it('takes an uncertainty of 0.858 when none is given', async () => {
    // 140/9 + 0.858 = 16.41356: at 16.41 the cup is possibly cold, at 16.42 not
    const ruling = async (celsius: number, exposures = ONE_CUP) =>
      (await judged({ readings: readingsCsv(...rows('P', 0, 180, celsius)), exposures })).cups[0]?.ruling;
    expect(await ruling(16.41)).toBe('unproven');
    expect(await ruling(16.42)).toBe('valid');
    expect(
      await ruling(16.41, `cup,probe,load,turn,uncertainty\nA-1,P,${time(0)},${time(180)},0.614\n`),
    ).toBe('valid');
  });

  it('clips a seating that begins before the load', async () => {
    const output = await judged({
      readings: readingsCsv(...rows('P', -30, -0.5, 5), ...rows('P', 0, 180, 30)),
      exposures: `cup,probe,load,turn,from\nA-1,P,${time(0)},${time(180)},${time(-30)}\n`,
    });
    expect(output.cups[0]).toMatchObject({ ruling: 'valid', minCelsius: 30, observedMinutes: 180 });
  });

  it('never uses flagged or impossible readings, skips them when it seeks neighbours, and says so', async () => {
    const flagged = [
      `P,${time(60)},5,spike`,
      `P,${time(61)},,missing`,
      `P,${time(62)},85.0,`,
      `P,${time(63)},-127,`,
    ];
    const good = rows('P', 0, 180, 30, 0.25)
      .filter((row) => !flagged.some((bad) => bad.split(',')[1] === row.split(',')[1]))
      .map((row) => `${row},`);
    const { out, err } = await run({
      readings: `probe,time,celsius,flag\n${[...flagged, ...good].join('\n')}\n`,
      exposures: ONE_CUP,
    });
    expect((JSON.parse(out[0] ?? '') as Output).cups[0]).toMatchObject({
      ruling: 'valid',
      minCelsius: 30,
      gaps: [],
    });
    expect(err.map((note) => note.replace(`${folder}/`, ''))).toEqual([
      'readings.csv: flagged and not used: 2',
      'readings.csv: outside -20 to 60 °C and not used: 2',
    ]);
  });

  it('says on the other stream when no row names a probe of the exposures', async () => {
    const { err } = await run({ readings: readingsCsv(...rows('P1', 0, 180, 30)), exposures: ONE_CUP });
    expect(err.join()).toMatch(/readings\.csv: no reading of probe P$/);
  });

  it('gives the same output for any order of the readings, duplicates included', async () => {
    const lines = [
      ...rows('P', 0, 60, 30),
      ...rows('P', 60.5, 75, 15),
      ...rows('P', 75.5, 180, 24),
      ...rows('Q', 0, 180, 20),
    ];
    const sorted = await run({ readings: readingsCsv(...lines), exposures: ONE_CUP });
    await fc.assert(
      fc.asyncProperty(
        fc.shuffledSubarray([...lines, ...lines.slice(0, 50)], { minLength: lines.length + 50 }),
        async (shuffled) => {
          expect(await run({ readings: readingsCsv(...shuffled), exposures: ONE_CUP })).toEqual(sorted);
        },
      ),
      { numRuns: 10, seed: 1 },
    );
  });

  it('rules by the rule set file', async () => {
    const files = { readings: readingsCsv(...rows('P', 0, 180, 30, 5)), exposures: ONE_CUP };
    expect((await judged(files)).cups[0]?.ruling).toBe('unproven');
    const output = await judged({ ...files, rules: '\ufeff{"name": "slow", "maxGapSeconds": 300}' });
    expect(output.cups[0]?.ruling).toBe('valid');
    expect(output.rules).toEqual({ ...rulesToJson(DEFAULT_RULES), name: 'slow', maxGapSeconds: 300 });
  });

  it('prints a table and the reasons without --json', async () => {
    const { out } = await run(
      {
        readings: readingsCsv(...rows('P', 0, 180, 12), ...rows('Q', 0, 180, 24)),
        exposures: exposuresCsv(`A-1,P,${time(0)},${time(180)}`, `B-22,Q,${time(0)},${time(180)}`),
      },
      false,
    );
    expect(out.join('\n').split('\n')).toEqual([
      'rule set default, version 1; durations in minutes (certain-possible), temperatures in °C',
      '',
      'cup   ruling  exposure  observed  cold     hot  min  mean  max',
      'A-1   cold    180       180       180-180  0-0  12   12    12',
      'B-22  valid   180       180       0-0      0-0  24   24    24',
      '',
      'A-1: cold: at least 180, at most 180 min of 180, longest spell at least 180, at most 180 min; allowed are 10 min in total and 5 min in one spell',
      'A-1: remark: cool: the mean was 12 °C, below 25 °C; older published tests ran at 30 °C',
      'B-22: remark: cool: the mean was 24 °C, below 25 °C; older published tests ran at 30 °C',
    ]);
  });

  describe('with a threshold sweep', () => {
    const files = {
      readings: readingsCsv(...rows('P', 0, 180, 16), ...rows('Q', 0, 180, 24)),
      exposures: exposuresCsv(`A-1,P,${time(0)},${time(180)}`, `B-22,Q,${time(0)},${time(180)}`),
    };

    it('prints what would change, and without one no key of it', async () => {
      const plain = JSON.parse((await run(files)).out[0]!) as object;
      expect(Object.keys(plain)).toEqual(['rules', 'cups']);
      const swept = JSON.parse((await run(files, true, '15..16/1')).out[0]!) as object;
      expect(swept).toEqual({
        ...plain,
        sweep: [
          // U is 0.858: 16 - U is above 15, 16 + U above 16, and 16 is not below 16
          {
            thresholdCelsius: 15,
            uncertainty: 'stated',
            counts: { valid: 2 },
            changed: [{ cup: 'A-1', from: 'unproven', to: 'valid' }],
          },
          {
            thresholdCelsius: 15,
            uncertainty: 'zero',
            counts: { valid: 2 },
            changed: [{ cup: 'A-1', from: 'unproven', to: 'valid' }],
          },
          { thresholdCelsius: 16, uncertainty: 'stated', counts: { unproven: 1, valid: 1 }, changed: [] },
          {
            thresholdCelsius: 16,
            uncertainty: 'zero',
            counts: { valid: 2 },
            changed: [{ cup: 'A-1', from: 'unproven', to: 'valid' }],
          },
        ],
      });
    });

    it('shows people a table', async () => {
      const { out } = await run(files, false, '16..17/1');
      expect(out.join('\n').split('\n').slice(-7)).toEqual([
        'what hangs on the threshold (now 15.56 °C) and on U; cups by ruling:',
        '',
        'threshold  U       cold  unproven  valid  ruled otherwise',
        '16         stated  0     1         1      none',
        '16         0       0     0         2      A-1 unproven -> valid',
        '17         stated  1     0         1      A-1 unproven -> cold',
        '17         0       1     0         1      A-1 unproven -> cold',
      ]);
    });
  });

  it('takes files with a header only', async () => {
    expect((await judged({ readings: readingsCsv(), exposures: 'cup,probe,load,turn\n' })).cups).toEqual([]);
  });

  it('refuses rule sets that are no JSON, no rule set, or not there', async () => {
    const files = { readings: readingsCsv(), exposures: ONE_CUP };
    expect(await refusalOf({ ...files, rules: '{' })).toMatch(/^rules\.json: not JSON/);
    expect(await refusalOf({ ...files, rules: '{"limit": 3}' })).toMatch(/^rules\.json: unknown key limit/);
    const missing = runJudge(
      {
        readings: join(folder, 'readings.csv'),
        exposures: join(folder, 'exposures.csv'),
        rules: join(folder, 'no.json'),
        json: true,
      },
      { out: () => expect.unreachable(), err: () => undefined },
    );
    await expect(missing).rejects.toThrow(/no\.json: the rule set cannot be read \(ENOENT\)/);
  });

  it('prints nothing when it refuses', async () => {
    writeFileSync(join(folder, 'bad.csv'), 'probe,time\n');
    writeFileSync(join(folder, 'good.csv'), ONE_CUP);
    const printed: string[] = [];
    const command = runJudge(
      { readings: join(folder, 'bad.csv'), exposures: join(folder, 'good.csv'), json: true },
      { out: (text) => printed.push(text), err: (text) => printed.push(text) },
    );
    await expect(command).rejects.toThrow(/bad\.csv, line 1: column celsius is missing/);
    expect(printed).toEqual([]);
  });
});
