import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type ReadingsNotes, type ReadingsTaker, takeReadingsCsv } from '../../../src/cli/csv/readingsCsv.js';
import { orderedRulings } from '../../../src/exposure/orderedRulings.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import type { Exposure, Observation } from '../../../src/exposure/types.js';
import { formatInstant } from '../../../src/units/time.js';
import { at, exposure, seating, trace } from '../../exposure/traces.js';
import { allInNewFolder } from '../../tools/newFolder.js';
import { refusalOf as sentenceOf } from '../../units/refusalOf.js';

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

interface Recorded extends ReadingsTaker {
  readonly used: Map<string, Observation[]>;
}

/** Writes down what the seatings of the exposures use. */
function recorder(exposures: readonly Exposure[]): Recorded {
  const rulings = orderedRulings(exposures.map((exposure) => ({ exposure, rules: DEFAULT_RULES })));
  const used = new Map<string, Observation[]>(rulings.probes.map((probe) => [probe, []]));
  return {
    probes: rulings.probes,
    used,
    feedOf(probe) {
      const feed = rulings.feedOf(probe);
      return {
        covers: (instant) => feed.covers(instant),
        take(at, celsius) {
          const taken = feed.take(at, celsius);
          if (taken === 'used') used.get(probe)?.push({ at, celsius });
          return taken;
        },
      };
    },
  };
}

async function read(
  content: string,
  exposures: readonly Exposure[] = [exposure(180)],
): Promise<ReadingsNotes & { observationsOf(probe: string): readonly Observation[] }> {
  writeFileSync(join(folder, 'readings.csv'), content);
  const { taken, notes } = await takeReadingsCsv(join(folder, 'readings.csv'), () => recorder(exposures));
  return { ...notes, observationsOf: (probe) => taken.used.get(probe) ?? [] };
}

const refusalOf = (content: string): Promise<string> => sentenceOf(read(content), folder);

const time = (minute: number): string => formatInstant(at(minute));

describe('takeReadingsCsv()', () => {
  it('keeps, sorted, what the seatings need, both ends included, and nothing else', async () => {
    const exposures = [
      [seating('P', 10, 20), seating('Q', 20, 26)],
      [seating('P', 15, 25), seating('P', 40, 50)],
    ].map((seatings) => exposure(60, { seatings }));
    const minutes = [55, 50, 45, 40, 39, 27, 26, 25, 22, 20, 10, 9];
    const rows = ['P', 'Q', 'R'].flatMap((probe) =>
      minutes.map((minute) => `${probe},${time(minute)},${minute}`),
    );
    const file = await read(`probe,time,celsius\n${rows.join('\n')}`, exposures);
    const kept = (probe: string) => file.observationsOf(probe).map(({ celsius }) => celsius);
    // P serves from 10 to 25 (two cups share it) and from 40 to 50
    expect(kept('P')).toEqual([10, 20, 22, 25, 40, 45, 50]);
    expect(kept('Q')).toEqual([20, 22, 25, 26]);
    expect(kept('R')).toEqual([]);
  });

  it('passes on what comes in order, and begins anew only when something comes late', async () => {
    const times = (minutes: number[]) => minutes.map((minute) => `P,${time(minute)},${minute}`).join('\n');
    const takers = async (minutes: number[]) => {
      writeFileSync(join(folder, 'readings.csv'), `probe,time,celsius\n${times(minutes)}`);
      let made = 0;
      const { taken } = await takeReadingsCsv(join(folder, 'readings.csv'), () => {
        made += 1;
        return recorder([exposure(60)]);
      });
      return [made, taken.used.get('P')?.map(({ celsius }) => celsius)];
    };
    expect(await takers([1, 2, 2, 3])).toEqual([1, [1, 2, 2, 3]]);
    // out of order where no cup sits
    expect(await takers([-5, -9, 1, 2, 3])).toEqual([1, [1, 2, 3]]);
    expect(await takers([1, 3, 2])).toEqual([2, [1, 2, 3]]);
  });

  it('reads what can be read only once', async () => {
    const pipe = join(folder, 'pipe');
    execFileSync('mkfifo', [pipe]);
    const write = writeFile(pipe, `probe,time,celsius\nP,${time(3)},20\nP,${time(2)},21\n`);
    const { taken } = await takeReadingsCsv(pipe, () => recorder([exposure(60)]));
    await write;
    expect(taken.used.get('P')).toEqual(trace([2, 21], [3, 20]));
  });

  it('counts what it does not use', async () => {
    const rows = [`P,${time(1)},,missing`, `P,${time(2)},20,x`, `P,${time(3)},60.01,`, `P,${time(4)},60,`];
    const file = await read(`probe,time,celsius,flag\n${rows.join('\n')}`, [
      exposure(180),
      exposure(180, { cup: 'B', seatings: [seating('S', 0, 9)] }),
    ]);
    expect(file).toMatchObject({ flagged: 2, implausible: 1, absentProbes: ['S'] });
    expect(file.observationsOf('P')).toMatchObject(trace([4, 60]));
  });

  it('takes two equal readings at one instant, written alike or not', async () => {
    const file = await read(`probe,time,celsius\nP,${time(1)},20\nP,2026-05-01T08:01:00+02:00,20.00\n`);
    expect(file.observationsOf('P').map(({ celsius }) => celsius)).toEqual([20, 20]);
  });

  it.each([
    [
      'an empty temperature without a flag',
      `P,${time(1)},`,
      /line 3, column celsius: the cell is empty; .*flag/,
    ],
    ['a decimal comma', `P,${time(1)},"1,5"`, /line 3, column celsius: "1,5" is not a temperature; .*dot/],
    ['a temperature with its unit', `P,${time(1)},60F`, /line 3, column celsius: "60F" is not a temperature/],
    ['a temperature too large to hold', `P,${time(1)},1e400`, /line 3, column celsius/],
    ['NaN', `P,${time(1)},NaN`, /line 3, column celsius/],
    [
      'a time without offset',
      'P,2026-05-01T06:00:00,20',
      /line 3, column time: "2026-05-01T06:00:00" is not a time/,
    ],
    ['a day that is none', 'P,2026-02-30T06:00:00Z,20', /line 3, column time/],
    ['no probe', `,${time(1)},20`, /line 3, column probe: the cell is empty/],
    ['a row too short', `P,${time(1)}`, /line 3: 2 cells where the header has 3/],
    [
      'a second reading at an instant',
      `P,${time(0)},21`,
      /line 3, column celsius: probe P has another reading at 2026-05-01T06:00:00\.000Z on line 2, 20 and not 21/,
    ],
  ])('refuses readings with %s, also of a probe nobody asks for', async (_, line, message) => {
    const first = `P,${time(0)},20`;
    expect(await refusalOf(`probe,time,celsius\n${first}\n${line}\n`)).toMatch(message);
    if (message.source.includes('another reading')) return;
    const other = line.replace(/^P/, 'X');
    expect(await refusalOf(`probe,time,celsius\n${first}\n${other}\n`)).toMatch(/^readings\.csv, line 3/);
  });

  it('refuses a malformed temperature even when the row is flagged', async () => {
    const readings = `probe,time,celsius,flag\nP,${time(1)},cold,bad\n`;
    expect(await refusalOf(readings)).toMatch(/line 2, column celsius: "cold" is not/);
  });
});
