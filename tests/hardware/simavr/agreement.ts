import type { Line } from '../../emulator/bench.js';

/** Times of the two boards that are taken for equal, milliseconds: one count of the clock, and rounding. */
export const CLOCK_MS = 2;
/** What the board notices at its next turn of the loop may be late by a turn (hardware/firmware/README.md). */
export const TURN_MS = 150;

/** A page of the log without what depends on the millisecond: its CRC (bytes 0-1) and its board time (10-13). */
export function timelessPage(page: Uint8Array): string {
  const copy = Buffer.from(page);
  copy.fill(0, 0, 2);
  copy.fill(0, 10, 14);
  return copy.toString('hex');
}

/** The board times inside a line, and its fields without them. */
function split({ kind, boardMs, fields }: Line): { times: number[]; rest: string } {
  if (kind === 'M') {
    const [mark = '', boot = '', time = '', utc = ''] = fields;
    return { times: [boardMs, Number.parseInt(time, 16)], rest: [mark, boot, utc].join() };
  }
  if (kind === 'L' && fields[1] === '0') {
    const bytes = new Uint8Array(Buffer.from(fields[2] ?? '', 'hex'));
    const pageMs = new DataView(bytes.buffer).getUint32(10, true);
    return { times: [boardMs, pageMs], rest: [...fields.slice(0, 2), timelessPage(bytes)].join() };
  }
  return { times: [boardMs], rest: fields.join() };
}

/** The lines but the heartbeats, numbered anew in each boot. */
export function withoutBeats(lines: readonly Line[]): Line[] {
  const next = new Map<number, number>();
  return lines
    .filter(({ kind }) => kind !== 'H')
    .map((line) => {
      const sequence = next.get(line.boot) ?? 0;
      next.set(line.boot, sequence + 1);
      return { ...line, sequence };
    });
}

export interface Difference {
  readonly ours: string | null;
  readonly theirs: string | null;
  readonly lateMs: number;
}

/**
 * Compares what two boards sent, line by line: kind, boot, sequence and every field must be equal, times within a
 * turn of the loop. The line's CRC must be right, and says nothing else. `late` counts the lines whose times differ by more than
 * the clock.
 */
export function compare(
  ours: readonly Line[],
  theirs: readonly Line[],
): { differences: Difference[]; late: number } {
  const differences: Difference[] = [];
  let late = 0;
  for (let index = 0; index < Math.max(ours.length, theirs.length); index += 1) {
    const [a, b] = [ours[index], theirs[index]];
    if (a === undefined || b === undefined) {
      differences.push({ ours: a?.text ?? null, theirs: b?.text ?? null, lateMs: 0 });
      continue;
    }
    const [mine, other] = [split(a), split(b)];
    const lateMs = Math.max(...mine.times.map((ms, at) => Math.abs(ms - (other.times[at] ?? 0))));
    if (lateMs > CLOCK_MS) late += 1;
    const isSame =
      a.kind === b.kind && a.boot === b.boot && a.sequence === b.sequence && mine.rest === other.rest;
    if (!isSame || lateMs > TURN_MS || !a.crcIsRight || !b.crcIsRight)
      differences.push({ ours: a.text, theirs: b.text, lateMs });
  }
  return { differences, late };
}
