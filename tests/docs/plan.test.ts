import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { installedPath } from '../../src/units/installed.js';
import { run } from '../cli/run.js';

const PAGE = readFileSync(installedPath('docs/plan.md'), 'utf8');

/** A command on the page and what the page says that it prints. */
const examples = (page: string) =>
  [...page.matchAll(/<!-- (plan \w+) -->\n```\n(.*?)\n```\n```text\n(.*?)\n```/gs)].map(
    ([, name = '', line = '', text = '']) => ({ name, line, text }),
  );

describe('docs/plan.md', () => {
  it.each(examples(PAGE))('shows what `$name` prints', async ({ line, text }) => {
    const { code, out } = await run(line.split(' '));
    expect(code).toBe(0);
    expect(out.trimEnd()).toBe(text);
  });

  it('shows something, and would be found out if a figure were another (negative control)', async () => {
    expect(examples(PAGE).length).toBeGreaterThanOrEqual(1);
    const { line, text } = examples(PAGE)[0]!;
    const { out } = await run([...line.split(' '), '--lost', '0.11']);
    expect(out.trimEnd()).not.toBe(text);
  });
});
