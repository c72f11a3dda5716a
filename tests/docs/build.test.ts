import { existsSync, readdirSync, readFileSync } from 'node:fs';
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

/** Steps whose "Shows it" names neither a command nor says that no command does. */
const COMMAND = /`(?:openscad|carrier|probe|sync|log)\b[^`]*`|No command/;
const withoutCommand = (page: string): string[] =>
  page
    .split(/^## (?=\d)/m)
    .slice(1)
    .filter((step) => !COMMAND.test(step.slice(step.search(/^\*\*Shows it/m), step.search(/^\*\*If not/m))))
    .map((step) => step.split('\n')[0]!);

/** Pictures of the hardware that a page does not show or link. */
const notShown = (page: string): string[] =>
  ['hardware/carrier', 'hardware/wiring'].flatMap((folder) =>
    readdirSync(folder)
      .filter((name) => /\.(?:png|svg)$/.test(name))
      .map((name) => `../${folder}/${name}`)
      .filter((link) => !page.includes(`](${link})`)),
  );

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

  it('names at each step the command that shows it, or says that none does', () => {
    expect(withoutCommand(BUILD)).toEqual([]);
    // Negative control.
    expect(withoutCommand(BUILD.replace('No command sees this', 'Nothing sees this'))).toEqual([
      '4 Does the board have D2?',
    ]);
  });

  it('shows or links every picture of the hardware', () => {
    expect(notShown(BUILD)).toEqual([]);
    // Negative control.
    expect(notShown(BUILD.replaceAll('finger.svg', 'thumb.svg'))).toEqual(['../hardware/carrier/finger.svg']);
  });

  it('says cautions at the step where the work can hurt someone', () => {
    for (const [step, caution] of [
      [1, 'hot nozzle'],
      [1, 'eye protection'],
      [2, 'iron and heat gun burn'],
      [5, 'swallowed'],
      [5, 'destroys a pin'],
      [7, 'certified adapter with a fuse'],
      [7, 'no\nmains'],
      [9, 'strap it to the vehicle'],
      [10, 'cut mesh is sharp'],
      [11, 'no open flame'],
      [12, 'where nothing can catch fire'],
    ] as const) {
      const text = BUILD.split(/^## (?=\d)/m)[step]!;
      expect(text.replaceAll('\n', ' ')).toContain(caution.replaceAll('\n', ' '));
    }
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

/** What the page must say, and the words by which it does: usual cautions for such work (common practice, no source). */
const SAFETY: readonly (readonly [item: string, words: string])[] = [
  ['a fused 12 V adapter', 'certified adapter with a fuse in its plug'],
  ['no mains', 'None on or near a carrier'],
  ['lithium cells and heat', 'Charge between 0 and 45 °C only'],
  ['hot tools', 'iron in its stand'],
  ['hot water at the bench', 'cold water first'],
  ['cutting', 'leather gloves for cut mesh'],
  ['the flash point', 'flashes at 12 °C'],
  ['that every valid assay is above it', 'at every valid assay temperature it can be lit'],
  ['diluted alcohol', 'diluted alcohol as no safer'],
  ['washing outdoors', 'Outdoors, 3 m from electronics'],
  ['the smoker', 'Out, and far, before alcohol is opened'],
  ['a carrier strapped down', 'strapped to the vehicle'],
  ['loose bees', 'Loose bees in the cab'],
  ['the driver', 'No key and no look at the screen for the driver'],
  ['engine idling', 'Carbon monoxide'],
  ['flames for heat', 'No gas heater'],
  ['closed vehicles', 'Nobody and no animal is left in a closed vehicle'],
  ['strips', 'gloves, forceps'],
  ['stings', 'Trouble with breathing after a sting is an emergency'],
  ['what comes first', 'Product labels, local rules and'],
  ['licensed practice', 'licensed people come first'],
  ['treatments', 'It never prescribes a treatment'],
];

describe('docs/safety.md', () => {
  const page = read('docs/safety.md').replaceAll(/\s+/g, ' ');
  const missing = (text: string) => SAFETY.filter(([, words]) => !text.includes(words)).map(([item]) => item);

  it('speaks of all that the work can do to people', () => {
    expect(missing(page)).toEqual([]);
  });

  it.each(SAFETY)('would be found out without %s (negative control)', (item, words) => {
    expect(missing(page.replaceAll(words, ''))).toContain(item);
  });
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
