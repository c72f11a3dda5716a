import type { MirrorRow, MirrorState, Position } from '../store/outbox.js';
import type { Clock } from '../units/clock.js';
import type { MonotonicMs, UtcMs } from '../units/time.js';
import type { Batch } from './batches.js';
import type { Connection } from './connection.js';
import { type Target, targetFromJson } from './target.js';

/** Points a batch has at most: a stop of the logger's other work of some 10 ms each. */
export const BATCH_MAX = 2000;

/** What the server acknowledged and may have to be sent again. */
export interface Held {
  readonly to: Position;
  readonly at: MonotonicMs;
  /** What it would not take of it, told when it is released, so that it is told once. */
  readonly refused: readonly Left[];
}

export interface Left {
  readonly what: Batch['what'];
  readonly count: number;
  readonly first: number;
  readonly last: number;
  readonly why: string;
}

/** A batch, and after which position it comes. */
interface Ahead {
  readonly from: Position;
  readonly batch: Batch | null;
}

/** The sending since a person last changed the mirror. */
export interface Session {
  readonly revision: number;
  readonly target: Target;
  connection: Connection | null;
  sent: Position;
  /** What comes after `sent` once the batch on its way is acknowledged; read while that is on its way. */
  ahead: Ahead | null;
  released: Position;
  held: Held[];
  /** Rows that were refused alone and passed over, until another row is taken. */
  suspects: Left[];
  limit: number;
  failures: number;
  /** Whether something was acknowledged that the store does not know yet. */
  hasNews: boolean;
  /** When the store was last told how far everything is. */
  recorded: MonotonicMs | null;
  /** How often everything was sent again only because the connection was gone, since something was released. */
  losses: number;
  success: UtcMs | null;
  state: MirrorState;
  words: string | null;
}

/** A sending that begins where everything is released. */
export function begin({ revision, target, released }: MirrorRow): Session {
  return {
    revision,
    target: targetFromJson(target),
    connection: null,
    sent: released,
    ahead: null,
    released,
    held: [],
    suspects: [],
    limit: BATCH_MAX,
    failures: 0,
    hasNews: false,
    recorded: null,
    losses: 0,
    success: null,
    state: 'new',
    words: null,
  };
}

/** Everything that is not released counts as not sent. */
export function goBack(session: Session): void {
  session.connection?.close();
  session.connection = null;
  session.sent = session.released;
  session.ahead = null;
  session.hasNews = false;
  session.held = [];
  session.suspects = [];
}

/** The server has a batch, but for what it refused of it; or the batch had nothing to send. */
export function take(
  session: Session,
  { points, to }: Batch,
  refused: readonly Left[],
  clock: Pick<Clock, 'utc' | 'monotonic'>,
): void {
  const isTaken = points.length > 0;
  session.sent = to;
  // Whether the rows passed over are at fault is known when others are taken.
  if (!isTaken && session.suspects.length > 0) return;
  session.held.push({
    to,
    at: clock.monotonic(),
    refused: isTaken ? [...session.suspects, ...refused] : refused,
  });
  if (!isTaken) return;
  session.suspects = [];
  session.failures = 0;
  session.success = clock.utc();
  session.hasNews = true;
}
