import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, it, test } from 'vitest';

const read = (path: string) => readFileSync(path, 'utf8');
const BUILD = read('docs/build.md');

/** Steps that do not say how one sees that they worked, or what to do when they did not. */
function incomplete(page: string): string[] {
  return page
    .split(/^## (?=\d)/m)
    .slice(1)
    .filter((step) => !/^\*\*Shows it:?\*\*/m.test(step) || !/^\*\*If not:\*\*/m.test(step))
    .map((step) => step.split('\n')[0]!);
}

/** Links of a page to files that are not there. */
function dead(path: string, page: string): string[] {
  return [...page.matchAll(/\]\(([^)#\s]+)[^)]*\)/g)]
    .map(([, link]) => link!)
    .filter((link) => !/^https?:/.test(link) && !existsSync(join(dirname(path), link)));
}

describe('docs/build.md', () => {
  it('says at each step what shows that it worked, and what to do if not', () => {
    expect(BUILD.match(/^## \d+ /gm)).toEqual(Array.from({ length: 12 }, (_, index) => `## ${index + 1} `));
    expect(incomplete(BUILD)).toEqual([]);
  });

  it('would be found out if a step did not (negative control)', () => {
    expect(incomplete(BUILD.replace('**If not:** 0 V', '0 V'))).toEqual(['7 Supply']);
    expect(incomplete(BUILD.replace('**Shows it:** press', 'press'))).toEqual(['8 Button and sound']);
  });

  it('shows the wiring and the carrier', () => {
    for (const picture of ['assembly.png', 'cutaway.png', 'exploded.png', 'wiring.svg'])
      expect(BUILD).toContain(picture);
  });
});

test.each(['docs/build.md', 'docs/safety.md', 'hardware/README.md', 'hardware/carrier/README.md'])(
  'the links of %s lead to files',
  (path) => {
    expect(dead(path, read(path))).toEqual([]);
  },
);

test('a dead link is found out (negative control)', () => {
  expect(dead('docs/build.md', '[a](nowhere.md) [b](safety.md#x)')).toEqual(['nowhere.md']);
});

test('docs/safety.md names what the work can do to people', () => {
  const page = read('docs/safety.md').toLowerCase();
  for (const word of [
    'mains',
    'fuse',
    'Lithium',
    'flashes at 12 °C',
    'diluted alcohol as no safer',
    'smoker',
    'strapped',
    'Loose bees',
  ])
    expect(page).toContain(word.toLowerCase());
  for (const word of [
    'No key and no look',
    'Carbon monoxide',
    'gas heater',
    'Nobody and no animal',
    'gloves, forceps',
    'Stings',
    'licensed',
  ])
    expect(page).toContain(word.toLowerCase());
  expect(page).toContain('it never prescribes a treatment');
});

describe('the U of other ways to place a probe', () => {
  // u_probe after an ice check and as bought: docs/rules.md; half widths of places: judgement, in the tables themselves.
  const ICE = 0.103;
  const BOUGHT = 0.317;
  const THRESHOLD = 140 / 9;
  const up = (value: number, step: number) => Math.ceil(value / step - 1e-9) * step;
  const U = (probe: number, halfWidth: number) => up(2 * Math.hypot(probe, halfWidth / Math.sqrt(3)), 0.001);
  const row = (name: string, u: number) =>
    `| ${name} | ${u.toFixed(3)} | ${up(THRESHOLD + u, 0.01).toFixed(2)} °C | ${(-up(u - THRESHOLD, 0.01)).toFixed(2)} °C |`;

  it('is as hardware/README.md says', () => {
    const page = read('hardware/README.md');
    expect(page).toContain(row("neighbour's probe, ice check", U(ICE, 1.5)));
    expect(page).toContain(row("neighbour's probe, as bought", U(BOUGHT, 1.5)));
    expect(page).toContain(row('own probe, ice check, not mapped', U(ICE, 0.5)));
  });

  it('is as hardware/carrier/README.md says', () => {
    const page = read('hardware/carrier/README.md');
    expect(page).toContain(`| 0.577 (±1.0) | ${U(ICE, 1).toFixed(3)} |`);
    expect(page).toContain(`| 0.866 (±1.5) | ${U(ICE, 1.5).toFixed(3)} |`);
  });
});
