import type { CarrierEvent } from '../carrier/events.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { type DurationMs, seconds } from '../units/time.js';
import { EMPTY_SEASON, foldSeason } from '../visit/season.js';
import { NOTHING_TAKEN, PAGES_AT_ONCE, type Taken, takenTogether } from './boardLog.js';
import { type Conversation, conversation } from './conversation.js';
import type { Recorder } from './recorder.js';
import { wantedSlots } from './slotPlan.js';

/** Looks after one board: records what it says, and tells it what it should know. */
export interface Attendant {
  hear(events: readonly CarrierEvent[]): void;
  /** Says what is due. */
  speak(): void;
  readonly talk: Conversation;
  /** What reading the board's log has come to since the beginning. */
  taken(): Taken;
}

/** How often the facts are looked at for cups that were seated, moved or turned. */
const LOOK_EVERY: DurationMs = seconds(2);

/**
 * @param writer writes what the board says
 * @param write sends a line to the board
 */
export function attend(options: {
  readonly store: Store;
  readonly writer: Recorder;
  readonly clock: Pick<Clock, 'utc' | 'monotonic'>;
  readonly write: (line: string) => void;
  readonly withOpenPage: boolean;
}): Attendant {
  const { store, clock, writer } = options;
  let season = EMPTY_SEASON;
  let seen = 0;
  let lookedAt = Number.NEGATIVE_INFINITY;
  let taken = NOTHING_TAKEN;

  const seasonNow = () => {
    const now = clock.monotonic();
    if (now - lookedAt < LOOK_EVERY) return season;
    lookedAt = now;
    const facts = store.facts(seen);
    seen = facts.at(-1)?.seq ?? seen;
    if (facts.length > 0) season = foldSeason(facts, season);
    return season;
  };
  const talk = conversation({
    keptLogs: (board, from, upTo) => store.keptLogs(board, from, upTo),
    commits: () => store.commits(),
    wanted: (board, utc) => wantedSlots(seasonNow(), board, utc),
    withOpenPage: options.withOpenPage,
  });

  const speak = () => {
    for (;;) {
      const wish = talk.next(clock.monotonic(), clock.utc());
      if (wish === null) return;
      if (wish.wish === 'send') options.write(wish.line);
      else if (wish.wish === 'lost') writer.losePages(wish.board, wish.first, wish.last, clock.utc());
      else if (wish.wish === 'settle') store.settle();
      else {
        const more = writer.takeInLog(clock.utc(), wish.isWhole, PAGES_AT_ONCE);
        taken = takenTogether(taken, more);
        if (!more.isPart) continue;
        // What boards have said meanwhile comes first.
        talk.takeInMore();
        return;
      }
    }
  };

  return {
    hear(events) {
      writer.record(events, clock.utc());
      for (const event of events) talk.hear(event, clock.monotonic(), clock.utc());
      speak();
    },
    speak,
    talk,
    taken: () => taken,
  };
}
