import { mkdirSync, mkdtempSync, realpathSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Finding } from '../../src/cli/checkup/finding.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { run } from './run.js';

const NOW = utcMs(Date.parse('2026-05-12T15:00:00Z'));
const before = process.cwd();
let folder: string;
beforeEach(() => {
  folder = realpathSync(mkdtempSync(join(tmpdir(), 'stillwarm-checkup-')));
  process.chdir(folder);
});
afterEach(() => {
  process.chdir(before);
  rmSync(folder, { recursive: true });
});

/** What the command finds, by the name of the check. */
const findings = async (...args: string[]): Promise<Map<string, Finding>> => {
  const { out } = await run(['checkup', '--json', ...args]);
  return new Map((JSON.parse(out) as { findings: Finding[] }).findings.map((each) => [each.check, each]));
};

describe('checkup', () => {
  it.each([
    ['the default name', 'stillwarm.sqlite', []],
    ['a name in this folder', 'x.sqlite', ['--store', './x.sqlite']],
    ['a name in a folder below', 'in/x.sqlite', ['--store', 'in/x.sqlite']],
  ])('judges the store where it lies: %s', async (_name, path, args) => {
    mkdirSync('in');
    openStoreToWrite(path, NOW).close();
    const found = await findings(...args);
    expect(found.get('permission')).toMatchObject({ state: 'good' });
    expect(found.get('file')).toMatchObject({ state: 'good' });
  });

  it('does not look for it from the root of the disk (negative control)', async () => {
    openStoreToWrite('x.sqlite', NOW).close();
    mkdirSync('in');
    process.chdir('in');
    // From here `x.sqlite` is nothing, and the store has another name from the root.
    expect((await findings('--store', 'x.sqlite')).get('store')?.says).toContain(
      `there is no store at ${join(folder, 'in', 'x.sqlite')}`,
    );
    const fromRoot = join(folder, 'x.sqlite').slice(1);
    expect((await findings('--store', fromRoot)).get('store')?.says).toContain('there is no store at');
  });
});
