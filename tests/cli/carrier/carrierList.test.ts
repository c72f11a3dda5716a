import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { openStoreToWrite } from '../../../src/store/store.js';
import { parseBoardId } from '../../../src/units/ids.js';
import { record } from '../../../src/visit/record.js';
import { carrier, OPENED } from '../../visit/situation.js';
import { run } from '../run.js';

it('`carrier list` looks for ports before there is a store, and makes none', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-list-'));
  const store = join(folder, 'none.sqlite');
  const { code, out, err } = await run(['carrier', 'list', '--json', '--store', store]);
  expect([code, err]).toEqual([0, '']);
  expect(JSON.parse(out)).toMatchObject({ boards: [], ports: expect.any(Array) });
  expect(existsSync(store)).toBe(false);
  rmSync(folder, { recursive: true });
});

it('`carrier list` names a board that was paired and never logged', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-list-'));
  const path = join(folder, 'x.sqlite');
  const store = openStoreToWrite(path, OPENED);
  const board = parseBoardId('0A1B2C3D')!;
  record(store, OPENED, () => [{ type: 'board-bound', carrier, board, at: OPENED }]);
  store.close();
  expect((await run(['carrier', 'list', '--store', path])).out).toMatch(
    /^board 0A1B2C3D +carrier A +not heard yet/m,
  );
  rmSync(folder, { recursive: true });
});
