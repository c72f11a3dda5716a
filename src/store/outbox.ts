import type { UtcMs } from '../units/time.js';
import { hasTable } from './schema.js';
import { type SealedRow, sealedBlocks } from './sealedBlocks.js';
import type { Sqlite } from './sqlite.js';

/** How far something has come: through the readings by their id, through the facts by their number. */
export interface Position {
  readonly readings: number;
  readonly facts: number;
}

/** The mirror's settings and state. */
export interface MirrorRow {
  /** Grows whenever a person sets the mirror up or turns it off. */
  readonly revision: number;
  readonly isOn: boolean;
  /** JSON; `mirror/target.ts` reads it. */
  readonly target: string;
  /** What the server has acknowledged. */
  readonly sent: Position;
  /** What it has had for so long that it is never sent again; at or before `sent`. */
  readonly released: Position;
  /** How many readings and rulings it would not take. */
  readonly refused: number;
  readonly state: MirrorState;
  readonly trouble: { readonly words: string; readonly at: UtcMs } | null;
  readonly success: UtcMs | null;
}

/** `waiting` tries again by itself; `stopped` needs a person. */
export type MirrorState = 'new' | 'sending' | 'waiting' | 'stopped';

/**
 * What the mirror still has to send. Readings and facts are the outbox themselves: they stay where they are, in
 * order of arrival, and one row says how far they have been sent. That row moves only after the server's
 * acknowledgement, so that whatever ends the process, nothing is skipped, and some may be sent twice.
 */
export interface Outbox {
  /** Null when the mirror was never set up. */
  mirror(): MirrorRow | null;
  /** Turns the mirror on with this target; `fromStart` forgets what was sent. */
  setMirror(target: string, fromStart: boolean): void;
  turnMirrorOff(): void;
  /** Records what was sent and released, unless a person has changed the mirror since `revision`. */
  moveMirror(
    revision: number,
    sent: Position,
    released: Position,
    refused: number,
    success: UtcMs | null,
  ): boolean;
  /** Records how the mirror is doing, unless a person has changed it since `revision`. */
  tellMirror(revision: number, state: MirrorState, trouble: string | null, at: UtcMs): void;
  /** How many readings after the one numbered `id` wait to be sent: all but those that nobody can place in time. */
  readingsBehind(id: number): number;
}

interface Row {
  revision: number;
  is_on: number;
  target: string;
  readings_sent: number;
  facts_sent: number;
  readings_released: number;
  facts_released: number;
  refused: number;
  state: string;
  trouble: string | null;
  trouble_utc_ms: number | null;
  success_utc_ms: number | null;
}

export function outbox(sqlite: Sqlite): Outbox {
  const sealed = sealedBlocks(sqlite);
  return {
    mirror() {
      const row = hasTable(sqlite, 'mirror') ? sqlite.get<Row>('SELECT * FROM mirror') : undefined;
      if (!row) return null;
      return {
        revision: row.revision,
        isOn: row.is_on === 1,
        target: row.target,
        sent: { readings: row.readings_sent, facts: row.facts_sent },
        released: { readings: row.readings_released, facts: row.facts_released },
        refused: row.refused,
        state: row.state as MirrorState,
        trouble: row.trouble === null ? null : { words: row.trouble, at: row.trouble_utc_ms as UtcMs },
        success: row.success_utc_ms as UtcMs | null,
      };
    },
    setMirror(target, fromStart) {
      sqlite.run(
        `INSERT INTO mirror (only, revision, is_on, target, readings_sent, facts_sent, readings_released,
           facts_released, refused, state) VALUES (1, 1, 1, ?, 0, 0, 0, 0, 0, 'new')
         ON CONFLICT (only) DO UPDATE SET revision = revision + 1, is_on = 1, target = excluded.target,
           state = 'new', trouble = NULL, trouble_utc_ms = NULL`,
        target,
      );
      if (fromStart)
        sqlite.run(
          `UPDATE mirror SET readings_sent = 0, facts_sent = 0, readings_released = 0, facts_released = 0,
             refused = 0, success_utc_ms = NULL`,
        );
    },
    turnMirrorOff() {
      sqlite.run('UPDATE mirror SET revision = revision + 1, is_on = 0');
    },
    moveMirror: (revision, sent, released, refused, success) =>
      sqlite.run(
        `UPDATE mirror SET readings_sent = ?, facts_sent = ?, readings_released = ?, facts_released = ?,
           refused = refused + ?, success_utc_ms = COALESCE(?, success_utc_ms) WHERE revision = ?`,
        sent.readings,
        sent.facts,
        released.readings,
        released.facts,
        refused,
        success,
        revision,
      ) > 0,
    tellMirror(revision, state, trouble, at) {
      sqlite.run('UPDATE mirror SET state = ? WHERE revision = ?', state, revision);
      if (trouble !== null)
        sqlite.run(
          'UPDATE mirror SET trouble = ?, trouble_utc_ms = ? WHERE revision = ?',
          trouble,
          at,
          revision,
        );
    },
    readingsBehind: (id) =>
      sqlite.snapshot(
        () =>
          sqlite.get<{ behind: number }>(
            "SELECT COUNT(*) AS behind FROM readings WHERE id > ? AND status <> 'unplaced'",
            id,
          )!.behind + sealedBehind(sealed.arrived(id, Number.MAX_SAFE_INTEGER), id),
      ),
  };
}

/** Blocks that begin behind it count whole; the others are looked into. */
const sealedBehind = (rows: readonly SealedRow[], id: number): number =>
  rows.reduce(
    (sum, row) =>
      sum +
      (row.firstId > id
        ? row.readings
        : (row
            .open()
            ?.column('id')
            .filter((each) => each > id).length ?? 0)),
    0,
  );
