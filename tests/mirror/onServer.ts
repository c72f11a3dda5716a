import { trustworthy } from '../../src/exposure/trustworthy.js';
import { UNPLACED } from '../../src/store/logShelf.js';
import type { Store } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import type { Influx } from '../tools/timeSeriesServers.js';

/** How a server's readings differ from the store's. */
export interface Difference {
  readonly stored: number;
  readonly onServer: number;
  readonly missing: number;
  readonly strange: number;
  readonly wrong: number;
}

export const NO_DIFFERENCE = { missing: 0, strange: 0, wrong: 0 };

/** Compares every reading on the server with the store: its time, probe, boot and temperature. */
export async function difference(store: Store, db: Influx): Promise<Difference> {
  const wanted = new Map<string, number | null>();
  for (let after = 0; ; ) {
    const rows = store.readingsAfter(after, 5000);
    if (rows.length === 0) break;
    after = rows.at(-1)!.id;
    for (const { utc, rom, board, boot, status, raw } of rows) {
      if (status === UNPLACED) continue;
      const value = trustworthy(status, raw);
      wanted.set(`${utc} ${rom} ${board} ${boot}`, typeof value === 'number' ? value : null);
    }
  }
  const rows = await db.query('SELECT probe, board, boot, celsius, usable FROM stillwarm_reading');
  const found = new Set<string>();
  let [strange, wrong] = [0, 0];
  for (const [time, probe, board, boot, celsius, usable] of rows) {
    const key = `${utcMs(Date.parse(String(time)))} ${probe} ${board} ${boot}`;
    found.add(key);
    if (!wanted.has(key)) strange += 1;
    else if (wanted.get(key) !== celsius || usable !== (celsius === null ? 0 : 1)) wrong += 1;
  }
  const missing = [...wanted.keys()].filter((key) => !found.has(key)).length;
  return { stored: wanted.size, onServer: rows.length, missing, strange, wrong };
}
