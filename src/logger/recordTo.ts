import { closeSync, fstatSync, openSync, readSync, type Stats, statSync, writeSync } from 'node:fs';
import { resolve } from 'node:path';
import type { CarrierEvent } from '../carrier/events.js';
import type { Anchor } from '../exposure/boardTime.js';
import type { CarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import type { Recorder } from './recorder.js';
import { type Entry, entryLine, HEADER, HEADER_START } from './recordingLines.js';
import type { Say } from './say.js';

/** A file in which everything that reaches the store from sources is written down as it comes. */
export interface Recording {
  /** A recorder that does what `recorder` does, and has it written down. */
  of(
    recorder: Recorder,
    source: { name: string; carrier: CarrierId | null; anchor: Anchor },
  ): RecordedRecorder;
  close(): void;
}

export interface RecordedRecorder extends Recorder {
  /** Writes down what came while nothing could be stored. */
  note(events: readonly CarrierEvent[], now: UtcMs): void;
}

/**
 * Begins a section at the end of a file, which is made when there is none. When it cannot be written later on, that is
 * said once and the rest is not recorded: the store matters more.
 *
 * @param store where the store is or will be, which is left alone
 * @throws {Refusal} when the file cannot be opened, or holds anything but a recording
 */
export function recordTo(path: string, store: string, say: Say): Recording {
  refuseOther(path, store);
  let file: number | null = open(path, 'a+');
  let number = 0;
  const write = (entry: Entry) => {
    if (file === null) return;
    number += 1;
    try {
      writeSync(file, `${entryLine(number, entry)}\n`);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      say(`${path} cannot be written (${code}): recording has stopped, logging goes on`, undefined, 'error');
      closeSync(file);
      file = null;
    }
  };
  if (!endsWithNewline(file)) writeSync(file, '\n');
  write(HEADER);
  let sources = 0;
  return {
    of(recorder, { name, carrier, anchor }) {
      const source = sources;
      sources += 1;
      write({ is: 'source', source, name, carrier, anchor });
      const note = (events: readonly CarrierEvent[], now: UtcMs) => {
        for (const event of events) write({ is: 'event', source, now, event });
      };
      return {
        note,
        record(events, now) {
          note(events, now);
          recorder.record(events, now);
        },
        takeInLog(now, isWhole, most) {
          const upTo = most === undefined ? {} : { most };
          write({ is: 'take-in', source, now, ...(isWhole ? {} : { isPart: true }), ...upTo });
          return recorder.takeInLog(now, isWhole, most);
        },
        losePages(board, first, last, now) {
          write({ is: 'lost-pages', source, now, board, first, last });
          recorder.losePages(board, first, last, now);
        },
        recollect: () => recorder.recollect(),
      };
    },
    close() {
      if (file !== null) closeSync(file);
      file = null;
    },
  };
}

/** Refuses a file that is something else, before a byte is written or the file of a store is so much as opened. */
function refuseOther(path: string, store: string): void {
  const [file, other] = [statOf(path), statOf(store)];
  const isStore = resolve(path) === resolve(store) || (file && other && isSame(file, other));
  if (isStore) throw new Refusal(`${path} is the store itself; name another file with --record.`);
  if (file?.isFIFO()) throw new Refusal(`${path} is a pipe, not a file; name a file with --record.`);
  if (!file?.isFile() || file.size === 0) return;
  const opened = open(path, 'r');
  try {
    const start = Buffer.alloc(HEADER_START.length);
    readSync(opened, start, 0, start.length, 0);
    if (start.toString('latin1') !== HEADER_START)
      throw new Refusal(
        `${path} is there and is not a recording, so nothing is added to it; name a new file with --record.`,
      );
  } finally {
    closeSync(opened);
  }
}

const statOf = (path: string): Stats | null => statSync(path, { throwIfNoEntry: false }) ?? null;
const isSame = (one: Stats, other: Stats): boolean => one.dev === other.dev && one.ino === other.ino;

function open(path: string, how: 'r' | 'a+'): number {
  try {
    return openSync(path, how);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new Refusal(
      `The recording ${path} cannot be opened (${code}); name a file in a folder you may write.`,
    );
  }
}

function endsWithNewline(file: number): boolean {
  const { size } = fstatSync(file);
  if (size === 0) return true;
  const last = Buffer.alloc(1);
  readSync(file, last, 0, 1, size - 1);
  return last.toString('latin1') === '\n';
}
