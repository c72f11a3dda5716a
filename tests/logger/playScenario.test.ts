import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { run } from '../cli/run.js';
import { lookInto } from '../store/lookInto.js';

it('refuses a store that has a visit of the scenario, before any board is started', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-played-'));
  try {
    const store = join(folder, 's.sqlite');
    const { crew } = findScenario('cold-morning')!;
    const { visit } = crew.find((action) => action.does === 'open-visit')!;
    expect((await run(['visit', 'open', visit, '--yard', 'y', '--zone', 'UTC', '--store', store])).code).toBe(
      0,
    );
    const { code, err } = await run(['log', '--emulate', 'cold-morning', '--speed', '60', '--store', store]);
    expect(code).toBe(1);
    expect(err).toContain(
      `${store} has the visit ${visit} of cold-morning already, for it was played there before; name a new file with --store.\n`,
    );
    lookInto(store, (opened) => {
      expect(opened.logger()).toBeNull();
      expect(opened.facts().map(({ fact }) => fact.type)).not.toContain('probe-assigned');
    });
  } finally {
    rmSync(folder, { recursive: true });
  }
});
