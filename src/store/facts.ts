import { z } from 'zod';
import { celsiusDifference } from '../units/temperature.js';
import { formatInstant, parseInstant, type UtcMs } from '../units/time.js';
import { CUP_FACTS, otherChain } from './cupFacts.js';
import {
  boardId,
  carrierId,
  count,
  instant,
  romId,
  sha256,
  slot,
  storeId,
  textRef,
  visitId,
  word,
  yardCode,
} from './factFields.js';
import { HINDRANCES } from './sqlite.js';

/**
 * The facts of a season: append-only records of what happened, from which all else is derived. Times are
 * RFC 3339 UTC text in the file and instants in the program. A fact is never changed; a correction is a
 * new fact. People's words are only referenced (`keepText` of the store).
 */
const storeCreated = z.strictObject({ type: z.literal('store-created'), store: z.string(), at: instant });

const visitOpened = z.strictObject({
  type: z.literal('visit-opened'),
  visit: visitId,
  yard: yardCode,
  /** IANA time zone of the yard, in which `--at HH:MM` is read. */
  zone: word,
  at: instant,
  active: word.nullable(),
  lot: word.nullable(),
  declaredCups: z.int().min(1).nullable(),
  /** The whole rule set in force; the ruling reads it from here. */
  rules: z.record(z.string(), z.union([z.string(), z.number()])),
  /** The size of a piece of strip, in the crew's words. */
  piece: word.optional(),
  /** What treatments the colonies had: reference of a text. */
  history: textRef.optional(),
  who: textRef.optional(),
});
const visitClosed = z.strictObject({
  type: z.literal('visit-closed'),
  visit: visitId,
  at: instant,
  who: textRef.optional(),
});

const probeAssigned = z.strictObject({
  type: z.literal('probe-assigned'),
  carrier: carrierId,
  slot,
  rom: romId,
  at: instant,
  /** Who said so; facts of an earlier version do not tell. */
  who: textRef.optional(),
});
const difference = z.number().transform(celsiusDifference);
const aboveZero = z.number().positive();
/** A probe was in ice water: T = raw - offset from `at` on, until it is checked again. */
const iceChecked = z.strictObject({
  type: z.literal('ice-checked'),
  rom: romId,
  /** The board that read it. */
  board: boardId,
  offset: difference,
  /** Standard uncertainty of a corrected reading, degrees Celsius. */
  uncertainty: difference,
  /** Sample standard deviation of the readings that were used, and their number. */
  standardDeviation: difference,
  readings: count,
  who: textRef,
  at: instant,
});
/** The places of a carrier's probes were compared: all in one bath, then in empty cups. */
const placementMapped = z.strictObject({
  type: z.literal('placement-mapped'),
  carrier: carrierId,
  board: boardId,
  /** Standard uncertainty of a place, degrees Celsius, for every slot of the carrier. */
  uncertainty: difference,
  /** By how much each place reads above the mean place. */
  places: z.array(z.strictObject({ slot, rom: romId, difference })),
  who: textRef,
  at: instant,
});
/** How slowly a probe follows: the time constant after a step, with its two-sided 95 % interval. */
const lagMeasured = z.strictObject({
  type: z.literal('lag-measured'),
  rom: romId,
  board: boardId,
  tauSeconds: aboveZero,
  lowSeconds: aboveZero,
  highSeconds: aboveZero,
  /** From where to where it went. */
  stepCelsius: difference,
  who: textRef,
  at: instant,
});

/** What can be withdrawn of what was found out or said of probes and carriers. */
export const MEASUREMENTS = ['ice-checked', 'placement-mapped', 'lag-measured', 'probe-assigned'] as const;
/** A measurement, or a probe's slot, is withdrawn: it stays on record, and all is as if it had never been. */
const measurementWithdrawn = z.strictObject({
  type: z.literal('measurement-withdrawn'),
  of: z.enum(MEASUREMENTS),
  /** The number of its fact. */
  entry: count,
  ...otherChain,
  why: textRef,
  who: textRef,
  at: instant,
});

const boardBound = z.strictObject({
  type: z.literal('board-bound'),
  carrier: carrierId,
  board: boardId,
  at: instant,
  /** Who said so, or started the logger that was told so; facts of an earlier version do not tell. */
  who: textRef.optional(),
});
const resetCause = z.enum(['power-on', 'brown-out', 'external', 'watchdog', 'unknown']);
const clockState = z.enum(['absent', 'running', 'stopped']);
const boardBooted = z.strictObject({
  type: z.literal('board-booted'),
  board: boardId,
  boot: count,
  resetCause,
  firmware: word,
  clock: clockState,
  /** Board time of the line that told it, from which `at` is reckoned back. */
  boardMs: count.optional(),
  at: instant,
});
const probesFound = z.strictObject({
  type: z.literal('probes-found'),
  board: boardId,
  boot: count,
  table: count,
  probes: z.array(
    z.strictObject({
      index: count,
      rom: romId,
      /** Standard uncertainty as the source told it, when it is another than a DS18B20's. */
      uncertainty: difference.optional(),
    }),
  ),
  at: instant,
});

/** A boot whose scans were read from the board's own log, and how well its place in time is known. */
const bootRead = z.strictObject({
  type: z.literal('boot-read'),
  board: boardId,
  boot: count,
  resetCause: resetCause.nullable(),
  clock: clockState.nullable(),
  /** Scans read so far. */
  scans: count,
  /** What proves when all of it ran; with `nothing`, readings whose own time is not proven are kept and unused. */
  provenBy: z.enum(['host', 'clock', 'neighbours', 'nothing']),
  /** How far its readings may be from their stated times, either way; null when nothing proves it. */
  withinMs: count.nullable(),
  /** When it began, or the best guess. */
  at: instant,
});
/** The board's clock held against the host's. */
const clockCompared = z.strictObject({
  type: z.literal('clock-compared'),
  board: boardId,
  boot: count,
  boardMs: count,
  /** Board minus host; null when the board knew no time. */
  differenceMs: z.int().nullable(),
  /** How often the clock had been set, modulo 256; absent when the board does not tell. */
  sets: count.optional(),
  at: instant,
});
/** A time that a board's log bears, which its counter contradicts: its clock was set in between. */
const clockDisproved = z.strictObject({
  type: z.literal('clock-disproved'),
  board: boardId,
  boot: count,
  boardMs: count,
  /** What the clock told minus what the counter comes to. */
  differenceMs: z.int(),
  /** What the counter comes to. */
  at: instant,
});
/** A press of a board's button. Which cup it was for is told by a person. */
const markStamped = z.strictObject({
  type: z.literal('mark-stamped'),
  board: boardId,
  boot: count,
  boardMs: count,
  /** Whether `at` is proven; the best guess otherwise. */
  isProven: z.boolean(),
  at: instant,
});
const boardWarned = z.strictObject({
  type: z.literal('board-warned'),
  board: boardId,
  boot: count,
  warning: word,
  detail: count,
  at: instant,
});
/** Pages of a board's log that it could not give, however often it was asked. */
const pagesLost = z.strictObject({
  type: z.literal('pages-lost'),
  board: boardId,
  first: count,
  last: count,
  at: instant,
});

/** From `at` on nothing of a board could be stored for so long. Scans that came meanwhile are gone if it has no memory. */
const nothingStored = z.strictObject({
  type: z.literal('nothing-stored'),
  board: boardId,
  why: z.enum(HINDRANCES),
  lastedMs: count,
  scans: count,
  hasMemory: z.boolean(),
  at: instant,
});

/** One hour's readings of a boot were sealed into blocks, one a probe: from here on it can be proven what they were. */
const hourSealed = z.strictObject({
  type: z.literal('hour-sealed'),
  board: boardId,
  boot: count,
  /** 0 the first time; readings that came late are sealed beside the others under the next number. */
  supplement: count,
  /** `hash` is the SHA-256 of the block's bytes. */
  blocks: z.array(z.strictObject({ rom: romId, readings: count, hash: sha256 })),
  /** When the hour began. */
  at: instant,
});

/** Readings or rulings that the mirror's server would not take; they are set aside and stay here. */
const mirrorRefused = z.strictObject({
  type: z.literal('mirror-refused'),
  what: z.enum(['readings', 'rulings']),
  count,
  /** The first and the last that may be meant: ids of readings, or numbers of facts. */
  first: count,
  last: count,
  why: word,
  at: instant,
});

/** The chain of another store was gathered up to a fact: from here on a cut tail of it shows. */
const chainGathered = z.strictObject({
  type: z.literal('chain-gathered'),
  store: storeId,
  /** Number and hash of its last fact. */
  facts: count,
  head: sha256,
  who: textRef.optional(),
  at: instant,
});

export const factSchema = z.discriminatedUnion('type', [
  iceChecked,
  placementMapped,
  lagMeasured,
  measurementWithdrawn,
  storeCreated,
  visitOpened,
  visitClosed,
  ...CUP_FACTS,
  probeAssigned,
  boardBound,
  boardBooted,
  probesFound,
  bootRead,
  clockCompared,
  clockDisproved,
  markStamped,
  boardWarned,
  pagesLost,
  nothingStored,
  hourSealed,
  mirrorRefused,
  chainGathered,
]);

/** What happened. `at` is when it happened, by the best knowledge of who recorded it. */
export type Fact = z.infer<typeof factSchema>;
export type FactType = Fact['type'];

/** A fact in its place in the chain. */
export interface RecordedFact {
  readonly seq: number;
  /** Wall clock of the recording process when it was recorded. */
  readonly recorded: UtcMs;
  readonly fact: Fact;
}

/** The plain data that is canonicalized and hashed for a fact. */
export function factToJson(seq: number, recorded: UtcMs, fact: Fact): object {
  return { seq, recorded: formatInstant(recorded), ...fact, at: formatInstant(fact.at) };
}

/** Reads one stored line back; throws when it is not a fact this version knows. */
export function factFromJson(line: string): RecordedFact {
  const { seq, recorded, ...rest } = JSON.parse(line) as { seq: number; recorded: string };
  const at = parseInstant(recorded);
  if (at === null) throw new Error(`fact ${seq} has no usable time of recording`);
  return { seq, recorded: at, fact: factSchema.parse(rest) };
}
