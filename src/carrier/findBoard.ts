import type { Clock } from '../units/clock.js';
import type { BoardId } from '../units/ids.js';
import { type DurationMs, seconds } from '../units/time.js';
import type { ByteWire } from './byteWire.js';
import { backOff } from './openPort.js';
import { readLines } from './readLines.js';
import { encodeCommand } from './wire/command.js';

/** How ports are reached. */
export interface PortAccess {
  open(path: string): Promise<ByteWire>;
  /** The ports of this computer as they are now. */
  present(): Promise<readonly string[]>;
}

/** An open port. */
export interface FoundPort {
  readonly at: string;
  readonly wire: ByteWire;
  /** Hands over what came while it was being looked at; from then on nothing more is kept here. */
  readonly heard: () => readonly Uint8Array[];
}
export const NOTHING_HEARD = (): readonly Uint8Array[] => [];

/** A board that restarts when its port is opened says who it is in this time; one that does not is asked. */
const ASKED_AFTER: DurationMs = seconds(5);
const NAMED_WITHIN: DurationMs = seconds(12);
/** Above what a board of ours can send in that time. */
const HEARD_BYTES_MAX = 0x1_0000;

/**
 * Waits for a lost board, as long as it takes: under its port's name, or, once it has announced an id, on a port
 * that appeared since it was opened. Null when it is to stop.
 *
 * @param before the ports that were there then: others' business
 */
export async function findBoard(options: {
  readonly path: string;
  readonly board: BoardId | null;
  readonly before: ReadonlySet<string>;
  readonly ports: PortAccess;
  readonly clock: Clock;
  readonly signal: AbortSignal;
  /** How many openings in a row came to nothing before. */
  readonly inVain: number;
}): Promise<FoundPort | null> {
  const { path, board, ports, clock, signal } = options;
  const others = new Set(options.before);
  for (let failures = options.inVain; ; failures += 1) {
    await clock.sleep(backOff(failures), signal);
    if (signal.aborted) return null;
    const same = await ports.open(path).catch(() => null);
    if (same !== null) return { at: path, wire: same, heard: NOTHING_HEARD };
    if (board === null) continue;
    const present = await ports.present().catch((): string[] => []);
    // A name that went away may come back with the board on it.
    for (const other of others) if (!present.includes(other)) others.delete(other);
    for (const at of present.filter((each) => each !== path && !others.has(each))) {
      const wire = await ports.open(at).catch(() => null);
      if (wire === null) continue;
      const heard = await heardFrom(wire, board, clock, signal);
      if (heard !== null) return { at, wire, heard };
      others.add(at);
    }
  }
}

/** What came from a wire until that board had said who it is; null, and closed, when it is not there. */
async function heardFrom(
  wire: ByteWire,
  board: BoardId,
  clock: Clock,
  signal: AbortSignal,
): Promise<FoundPort['heard'] | null> {
  const named = new AbortController();
  let isThere = false;
  const { input } = readLines(clock, (event) => {
    if (event.kind !== 'boot') return;
    isThere = event.board === board;
    named.abort();
  });
  let heard: Uint8Array[] | null = [];
  let bytes = 0;
  wire.onData((chunk) => {
    heard?.push(chunk);
    if (named.signal.aborted) return;
    bytes += chunk.length;
    if (bytes > HEARD_BYTES_MAX) named.abort();
    else input.write(Buffer.from(chunk));
  });
  wire.onClosed(() => named.abort());
  const over = AbortSignal.any([named.signal, signal]);
  await clock.sleep(ASKED_AFTER, over);
  if (!over.aborted) wire.write(encodeCommand({ name: 'identify' }, 0, clock.utc()));
  await clock.sleep((NAMED_WITHIN - ASKED_AFTER) as DurationMs, over);
  named.abort();
  if (isThere)
    return () => {
      const before = heard ?? [];
      heard = null;
      return before;
    };
  heard = null;
  wire.close('another board');
  return null;
}
