import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { run } from './run.js';

it('`carrier list` looks for ports before there is a store, and makes none', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-list-'));
  const store = join(folder, 'none.sqlite');
  const { code, out, err } = await run(['carrier', 'list', '--json', '--store', store]);
  expect([code, err]).toEqual([0, '']);
  expect(JSON.parse(out)).toMatchObject({ boards: [], ports: expect.any(Array) });
  expect(existsSync(store)).toBe(false);
  rmSync(folder, { recursive: true });
});
