import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { runJudge } from '../../../src/cli/judging/judge.js';
import { DEFAULT_RULES, type RuleSet } from '../../../src/exposure/ruleSet.js';
import { expandedUncertainty, ICE_CHECKED, UNCORRECTED } from '../../../src/exposure/uncertainty.js';
import { celsiusDifference } from '../../../src/units/temperature.js';
import { allInNewFolder } from '../../tools/newFolder.js';

const doc = readFileSync(new URL('../../../docs/rules.md', import.meta.url), 'utf8');
const block = (opening: RegExp): string => {
  const found = [...doc.matchAll(/```\w+\n(.*?)```/gs)].map((match) => match[1] ?? '');
  return found.find((text) => opening.test(text)) ?? expect.unreachable(`no block ${opening}`);
};
/** The cells of the table whose header begins with these words. */
const table = (header: string): string[][] => {
  const lines = doc.slice(doc.indexOf(header)).split('\n').slice(2);
  return lines.slice(0, lines.indexOf('')).map((line) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim()),
  );
};

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

async function example(readings: string): Promise<string> {
  const file = (name: string, text: string) => {
    writeFileSync(join(folder, name), text);
    return join(folder, name);
  };
  const out: string[] = [];
  await runJudge(
    {
      readings: file('readings.csv', readings),
      exposures: file('exposures.csv', block(/^cup,probe/)),
      rules: file('rules.json', block(/"ten-minutes"/)),
      json: false,
    },
    { out: (text) => out.push(text), err: () => undefined },
  );
  return `${out.join('\n')}\n`;
}

const readings = (): string => {
  const rows = table('| time | P1').flatMap(([time, ...cells]) =>
    cells.map((cell, index) => `P${index + 1},2026-05-01T${time}:00+02:00,${cell}`),
  );
  return `probe,time,celsius\n${rows.filter((row) => !row.endsWith(',-')).join('\n')}\n`;
};

describe('docs/rules.md', () => {
  it('shows what judge prints for its example', async () => {
    expect(readings().split('\n')).toHaveLength(1 + 3 * 19 - 1 + 1);
    expect(await example(readings())).toBe(block(/^rule set ten-minutes/));
  });

  it('would not match with one reading changed', async () => {
    const changed = readings().replace(/(P1,2026-05-01T09:20:00\+02:00),14/, '$1,20');
    expect(await example(changed)).not.toBe(block(/^rule set ten-minutes/));
  });

  it('lists every key of the default rule set with its figure', () => {
    const rows = table('| key | default');
    expect(rows.map(([key]) => key)).toEqual(Object.keys(DEFAULT_RULES).map((key) => `\`${key}\``));
    for (const [key, figure = '', mark] of rows) {
      const name = (key ?? '').replaceAll('`', '') as keyof RuleSet;
      const expected = name === 'thresholdCelsius' ? '140/9' : String(DEFAULT_RULES[name]);
      expect(figure).toBe(expected);
      if (name !== 'name' && name !== 'version') expect(mark).toMatch(/^\((p|j)\)$/);
    }
    expect(DEFAULT_RULES.thresholdCelsius).toBe(140 / 9);
  });

  it('gives the uncertainties that are used', () => {
    const rows = table('| probe | u_probe').map((cells) => cells.map((cell) => Number.parseFloat(cell)));
    expect(rows.map((cells) => cells[3])).toEqual([UNCORRECTED, ICE_CHECKED]);
    for (const [, probe = 0, place = 0, expanded = 0] of rows)
      expect(expandedUncertainty(celsiusDifference(probe), celsiusDifference(place))).toBeCloseTo(
        expanded,
        3,
      );
  });
});
