import { stat } from 'node:fs/promises';
import type { Taken } from '../../exposure/orderedRulings.js';
import { isPlausible } from '../../exposure/trustworthy.js';
import { Refusal } from '../../units/refusal.js';
import type { Celsius } from '../../units/temperature.js';
import { formatInstant, type UtcMs } from '../../units/time.js';
import { readReadingRows } from './readingRows.js';
import { ReadingsOnDisk } from './readingsOnDisk.js';

/** Where the readings of the wanted probes go. */
export interface ReadingsTaker {
  readonly probes: readonly string[];
  feedOf(probe: string): Feed;
}

export interface Feed {
  /** Takes a reading that is not earlier than the one before. */
  take(at: UtcMs, celsius: Celsius): Taken;
  covers(at: UtcMs): boolean;
}

/** What is to be said of a readings file besides its readings. */
export interface ReadingsNotes {
  /** Rows that are flagged, hence not used. */
  readonly flagged: number;
  /** Rows without a flag whose temperature no air of a cup can have, hence not used. */
  readonly implausible: number;
  /** Wanted probes that no row of the file names. */
  readonly absentProbes: readonly string[];
}

/**
 * Gives every trustworthy reading of a file to a taker, probe by probe in order of time. Rows in that order are passed
 * on as they are read; when they are not, or the file can be read only once, they are sorted on disk first. Either
 * way memory does not grow with the readings.
 *
 * @param taker makes a taker that has nothing yet; called again when a file has to be begun anew
 * @throws {Refusal} as `readReadingRows`, and for two different temperatures of a probe at one instant of a seating
 */
export async function takeReadingsCsv<T extends ReadingsTaker>(
  path: string,
  taker: () => T,
): Promise<{ readonly taken: T; readonly notes: ReadingsNotes }> {
  const inOrder = (await canBeReadTwice(path)) ? await takeAsTheyCome(path, taker()) : null;
  return inOrder ?? takeSorted(path, taker());
}

const canBeReadTwice = (path: string): Promise<boolean> =>
  stat(path).then(
    (found) => found.isFile(),
    () => true,
  );

type TakenAndNotes<T> = { readonly taken: T; readonly notes: ReadingsNotes };

/** Null when a reading comes later than a later one. */
async function takeAsTheyCome<T extends ReadingsTaker>(
  path: string,
  taker: T,
): Promise<TakenAndNotes<T> | null> {
  const give = giveTo(path, taker);
  let isInOrder = true;
  const notes = await readWanted(path, taker.probes, (at, probe, celsius, line) => {
    isInOrder = give(at, probe, celsius, line);
    return isInOrder;
  });
  return isInOrder ? { taken: taker, notes } : null;
}

async function takeSorted<T extends ReadingsTaker>(path: string, taker: T): Promise<TakenAndNotes<T>> {
  const sorter = new ReadingsOnDisk();
  try {
    const feeds = taker.probes.map((probe) => taker.feedOf(probe));
    const notes = await readWanted(path, taker.probes, (at, probe, celsius, line) => {
      if ((feeds[probe] as Feed).covers(at)) sorter.add(at, probe, celsius, line);
      return true;
    });
    const give = giveTo(path, taker);
    for (const { at, probe, celsius, line } of sorter.sorted())
      give(at as UtcMs, probe, celsius as Celsius, line);
    return { taken: taker, notes };
  } finally {
    sorter.close();
  }
}

type Give = (at: UtcMs, probe: number, celsius: Celsius, line: number) => boolean;

/** Reads a file and passes on what can be used of the wanted probes. */
async function readWanted(path: string, probes: readonly string[], give: Give): Promise<ReadingsNotes> {
  const isPresent = new Uint8Array(probes.length);
  let flagged = 0;
  let implausible = 0;
  await readReadingRows(path, probes, (probe, at, celsius, isFlagged, line) => {
    if (probe >= 0) isPresent[probe] = 1;
    if (isFlagged) flagged += 1;
    else if (!isPlausible(celsius)) implausible += 1;
    else if (probe >= 0) return give(at, probe, celsius as Celsius, line);
    return true;
  });
  return { flagged, implausible, absentProbes: probes.filter((_, index) => isPresent[index] === 0) };
}

/** Gives readings to their feeds; false for one that comes too late. */
function giveTo(path: string, taker: ReadingsTaker): Give {
  const feeds = taker.probes.map((probe) => taker.feedOf(probe));
  const lines = new Float64Array(feeds.length);
  const temperatures = new Float64Array(feeds.length);
  return (at, probe, celsius, line) => {
    const taken = (feeds[probe] as Feed).take(at, celsius);
    if (taken === 'late') return false;
    if (taken === 'conflict')
      throw new Refusal(
        `${path}, line ${line}, column celsius: probe ${taker.probes[probe]} has another reading at ${formatInstant(at)} on line ${lines[probe]}, ${temperatures[probe]} and not ${celsius} °C; flag the wrong one`,
      );
    if (taken === 'used') {
      lines[probe] = line;
      temperatures[probe] = celsius;
    }
    return true;
  };
}
