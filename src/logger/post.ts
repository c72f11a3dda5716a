import type { BootEvent, CarrierEvent, LinkEvent, LogStateEvent, ProbesEvent } from '../carrier/events.js';
import type { CarrierSource } from '../carrier/source.js';
import { HEARS_FROM } from '../carrier/wire/frames.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { BoardId } from '../units/ids.js';
import { type Attendant, attend } from './attend.js';
import type { Recorder } from './recorder.js';
import type { Level } from './say.js';
import { lasted, type Outage, type Storing } from './storing.js';
import { wholeScans } from './wholeScans.js';

/** The logger's place at one source: hands on to its attendant what it hears, and says how things stand when nothing can be stored. */
export interface Post {
  hear(event: CarrierEvent): void;
  /** Says what is due; to be called ten times a second. */
  speak(): void;
  /** Hands on what is held back. */
  flush(): void;
  /** What is to be put on record of an outage that is over. */
  factsOf(outage: Outage, now: Outage['since']): Fact[];
  /** Begins anew after an outage, in the middle of what the source is saying. */
  rejoin(): void;
  readonly attendant: Attendant;
}

/** @param storing lets through what can be stored */
export function post(options: {
  readonly store: Store;
  readonly source: CarrierSource;
  readonly writer: Recorder;
  readonly clock: Pick<Clock, 'utc' | 'monotonic'>;
  readonly storing: Storing;
  readonly withOpenPage: boolean;
  readonly say: (sentence: string, level?: Level) => void;
  /** Told of what came and was not given to the writer. */
  readonly onMissed: (events: readonly CarrierEvent[]) => void;
  readonly onProgress: (attendant: Attendant) => void;
}): Post {
  const { source, writer, storing, say, onMissed, onProgress } = options;
  const begin = () => attend({ ...options, write: (line) => source.write(line) });
  let attendant = begin();
  let link: LinkEvent | null = null;
  let boot: BootEvent | null = null;
  let probes: ProbesEvent | null = null;
  let log: LogStateEvent | null = null;
  /** Scans that came and were not stored, of each board. */
  let unstored = new Map<BoardId, Set<string>>();

  const remember = (event: CarrierEvent) => {
    if (event.kind === 'link' && event.state !== 'note' && event.state !== 'lost-lines') link = event;
    if (event.kind === 'boot') [boot, probes, log] = [event, null, null];
    if (event.kind === 'probes') probes = event;
    if (event.kind === 'log-state') log = event;
  };
  const miss = (events: readonly CarrierEvent[]) => {
    for (const event of events) {
      if (event.kind !== 'scan') continue;
      const scans = unstored.get(event.board) ?? new Set<string>();
      unstored.set(event.board, scans.add(`${event.bootCount} ${event.scan}`));
    }
  };
  const hand = (events: readonly CarrierEvent[]) => {
    let [wasTried, isStored] = [false, false];
    storing.attempt(() => {
      wasTried = true;
      attendant.hear(events);
      isStored = true;
      onProgress(attendant);
    });
    if (!isStored) miss(events);
    if (!wasTried) onMissed(events);
  };
  const scans = wholeScans(hand);
  const hasMemory = () => log !== null && log.store !== 'ram';

  return {
    hear(event) {
      remember(event);
      scans.take(event);
    },
    speak() {
      scans.tick();
      storing.attempt(() => {
        attendant.speak();
        onProgress(attendant);
      });
    },
    flush() {
      scans.flush();
      // What is only counted so far.
      hand([]);
    },
    factsOf: (outage, now) =>
      [...unstored].map(([board, missed]) => ({
        type: 'nothing-stored',
        board,
        why: outage.why,
        lastedMs: lasted(outage, now),
        scans: missed.size,
        hasMemory: hasMemory(),
        at: outage.since,
      })),
    rejoin() {
      const missed = [...unstored.values()].reduce((sum, { size }) => sum + size, 0);
      unstored = new Map();
      writer.recollect();
      attendant = begin();
      if (missed > 0)
        say(
          hasMemory()
            ? 'its scans of that time are read from its memory'
            : `it has no memory: ${missed} scan${missed === 1 ? '' : 's'} of that time ${missed === 1 ? 'is' : 'are'} gone, a gap`,
          hasMemory() ? 'info' : 'warn',
        );
      if (link?.state !== 'open') return;
      // A board that hears commands is asked who it is; of others, what they said once has to do.
      const opened: LinkEvent = { ...link, detail: 'read again from here' };
      const hears = boot === null || boot.protocolVersion >= HEARS_FROM;
      hand(hears ? [opened] : [opened, boot, probes].filter((event) => event !== null));
    },
    get attendant() {
      return attendant;
    },
  };
}
