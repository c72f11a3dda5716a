import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { installedPath } from '../../src/units/installed.js';

const page = readFileSync(installedPath('docs/field-day.md'), 'utf8');
const kept = installedPath('tests/end-to-end/fieldDay/screens');
/** A kept screen on the page: its name in a comment, then the screen as code. */
const shown = [...page.matchAll(/<!-- screen (\S+) -->\n```\n(.*?)\n```/gs)].map(
  ([, name = '', text = '']) => ({
    name,
    text,
  }),
);

describe('docs/field-day.md', () => {
  it('shows screens as a whole visit by keys has them, and no others', () => {
    expect(shown.length).toBeGreaterThanOrEqual(6);
    for (const { name, text } of shown)
      expect(text, name).toBe(readFileSync(join(kept, `${name}.txt`), 'utf8').trimEnd());
    const drawn = page.split('\n').filter((line) => /^stillwarm: /.test(line));
    expect(drawn).toHaveLength(shown.length);
  });

  it('shows both sizes', () => {
    for (const size of readdirSync(kept))
      expect(
        shown.some(({ name }) => name.startsWith(`${size}/`)),
        size,
      ).toBe(true);
  });
});
