import type { Encoder } from '../../src/export/encoder.js';
import { exportSeries } from '../../src/export/exportSeries.js';
import type { Selection } from '../../src/export/rows.js';
import type { Store } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { seasonOf } from '../../src/visit/season.js';

export const ALL: Selection = {
  from: utcMs(-8_640_000_000_000_000),
  to: utcMs(8_640_000_000_000_000),
  probes: null,
  isWanted: null,
};

/** All that an export writes, in one piece. */
export async function written(store: Store, encoder: Encoder, selection = ALL): Promise<Buffer> {
  const pieces: Uint8Array[] = [];
  await exportSeries(
    store,
    seasonOf(store),
    selection,
    encoder,
    (piece) => Promise.resolve(void pieces.push(piece)),
    new AbortController().signal,
  );
  return Buffer.concat(pieces);
}
