import { createHash } from 'node:crypto';
import type { BoardId, RomId } from '../units/ids.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { firstBreak } from './chain.js';
import { factFromJson } from './facts.js';
import type { Link } from './gathered.js';
import type { Sqlite } from './sqlite.js';

interface BlockRow {
  readonly rom: RomId;
  readonly board: BoardId;
  readonly boot: number;
  readonly hour_ms: UtcMs;
  readonly part: number;
  readonly bytes: ArrayBuffer;
}

/** What of the gathered chains and sealed readings is not as it was taken in, a sentence each. Reads all of them. */
export function brokenGathered(
  sqlite: Sqlite,
  chains: readonly { readonly number: number; readonly store: string; readonly links: readonly Link[] }[],
): string[] {
  return chains.flatMap(({ number, store, links }) => {
    const broken = firstBreak(links);
    const sealed = sealedIn(links);
    const blocks = sqlite.all<BlockRow>(
      'SELECT rom, board, boot, hour_ms, part, bytes FROM gathered_blocks WHERE chain = ? AND part >= 0 ORDER BY rom, hour_ms',
      number,
    );
    return [
      ...(broken === null
        ? []
        : [`fact ${broken} of the chain of store ${store} does not follow from the one before`]),
      ...blocks
        .filter((row) => sealed.get(keyOf(row)) !== sha256(new Uint8Array(row.bytes)))
        .map(
          ({ rom, hour_ms: hour }) =>
            `the readings of probe ${rom} from ${formatInstant(hour)} on are not those that store ${store} sealed`,
        ),
    ];
  });
}

/** The hash of every sealed block that a chain tells of. */
function sealedIn(links: readonly Link[]): ReadonlyMap<string, string> {
  const told = new Map<string, string>();
  for (const { line } of links) {
    if (!line.includes('"type":"hour-sealed"')) continue;
    const { fact } = factFromJson(line);
    if (fact.type !== 'hour-sealed') continue;
    for (const { rom, hash } of fact.blocks)
      told.set(keyOf({ ...fact, rom, hour_ms: fact.at, part: fact.supplement }), hash);
  }
  return told;
}

const keyOf = ({ rom, board, boot, hour_ms: hour, part }: Omit<BlockRow, 'bytes'>): string =>
  `${rom} ${board} ${boot} ${hour} ${part}`;

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
