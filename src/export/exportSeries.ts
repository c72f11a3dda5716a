import type { Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import type { Season } from '../visit/season.js';
import type { Encoder } from './encoder.js';
import type { Write } from './newFile.js';
import { type Selection, seriesOf } from './rows.js';

/** What was exported. */
export interface Exported {
  readonly rows: number;
  readonly probes: number;
  /** The earliest and the latest time; null when there was no row. */
  readonly span: { readonly from: UtcMs; readonly to: UtcMs } | null;
  /** How many rows a ruling may not use. */
  readonly unused: number;
  /** Gaps between used readings longer than the default rule set allows. */
  readonly gaps: number;
  /** Sealed hours of probes that could not be read: what they held is missing. */
  readonly unreadableBlocks: number;
}

/** How things stand after each hour of a probe. */
export interface Standing {
  /** From 0 to 1. */
  readonly done: number;
  readonly rows: number;
}

/** Written in pieces of at least so many bytes. */
const PIECE_BYTES = 1 << 20;

/**
 * Writes a selection of readings, an hour of a probe at a time.
 *
 * @param signal ends it between two hours when aborted
 * @throws {Refusal} when it was ended, or there is no reading
 */
export async function exportSeries(
  store: Store,
  season: Season,
  selection: Selection,
  encoder: Encoder,
  write: Write,
  signal: AbortSignal,
  onStanding: (standing: Standing) => void = () => {},
): Promise<Exported> {
  let pieces: Uint8Array[] = [encoder.head()];
  let waiting = 0;
  const flush = async () => {
    const piece = Buffer.concat(pieces);
    pieces = [];
    waiting = 0;
    if (piece.length > 0) await write(piece);
    if (signal.aborted) throw new Refusal('The export was stopped before its end; no file was made.');
  };
  const probes = new Set<string>();
  let [rows, unused, gaps, unreadableBlocks] = [0, 0, 0, 0];
  let span: Exported['span'] = null;
  for (const part of seriesOf(store, season, selection)) {
    unreadableBlocks += part.unreadableBlocks;
    if (part.rows.length > 0) {
      const bytes = encoder.add(part.rows);
      pieces.push(bytes);
      waiting += bytes.length;
      const [first, last] = [part.rows[0]!.reading, part.rows.at(-1)!.reading];
      probes.add(first.rom);
      span = {
        from: span === null || first.utc < span.from ? first.utc : span.from,
        to: span === null || last.utc > span.to ? last.utc : span.to,
      };
      rows += part.rows.length;
      for (const { isUsed, gapSeconds } of part.rows) {
        if (!isUsed) unused += 1;
        if (gapSeconds !== null) gaps += 1;
      }
    }
    if (waiting >= PIECE_BYTES || signal.aborted) await flush();
    onStanding({ done: part.done, rows });
  }
  if (rows === 0) throw new Refusal(nothingThere(unreadableBlocks));
  pieces.push(encoder.end());
  await flush();
  return { rows, probes: probes.size, span, unused, gaps, unreadableBlocks };
}

const nothingThere = (unreadableBlocks: number): string =>
  unreadableBlocks === 0
    ? 'There is no reading of that choice in this store, and nothing was made; choose a longer span, or look at probe list for what there is.'
    : 'The readings of that choice are in sealed hours that are damaged, and nothing was made; checkup names them.';
