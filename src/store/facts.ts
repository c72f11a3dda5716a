import { z } from 'zod';
import { RULINGS } from '../../shared/index.js';
import {
  type BoardId,
  type CarrierId,
  type CupLabel,
  LABEL_RULE,
  parseBoardId,
  parseCarrierId,
  parseCupLabel,
  parseRomId,
  parseVisitId,
  parseYardCode,
  type RomId,
  type VisitId,
  type YardCode,
} from '../units/ids.js';
import { celsiusDifference } from '../units/temperature.js';
import { formatInstant, parseInstant, type UtcMs } from '../units/time.js';

/**
 * The facts of a season: append-only records of what happened, from which all else is derived. Times are
 * RFC 3339 UTC text in the file and instants in the program. A fact is never changed; a correction is a
 * new fact. People's words are only referenced (`keepText` of the store).
 */
const id = <T extends string>(parse: (text: string) => T | null, what: string) =>
  z.string().transform((text, context): T => {
    const parsed = parse(text);
    if (parsed !== null) return parsed;
    context.addIssue({ code: 'custom', message: `is not ${what}` });
    return z.NEVER;
  });

const label = (what: string) => `${what} (${LABEL_RULE})`;
export const cupLabel = id<CupLabel>(parseCupLabel, label('a cup label'));
export const visitId = id<VisitId>(parseVisitId, label('a visit name'));
export const yardCode = id<YardCode>(parseYardCode, label('a yard code'));
export const carrierId = id<CarrierId>(parseCarrierId, label('a carrier name'));
export const boardId = id<BoardId>(parseBoardId, 'a board id (eight upper-case hex digits)');
export const romId = id<RomId>(
  parseRomId,
  'a probe ROM id (eight hex pairs with hyphens whose CRC is right, as 28-13-9B-BB-0B-00-00-1F)',
);
const instant = id<string>(
  (text) => (parseInstant(text) === null ? null : text),
  'an RFC 3339 time with its offset',
).transform((text) => parseInstant(text) as UtcMs);
const count = z.int().min(0);
export const SLOT_MAX = 16;
const slot = z.int().min(1).max(SLOT_MAX);
/** Reference to a text kept outside the chain. */
const textRef = z.string().regex(/^[0-9a-f]{64}$/);
const WORD_LENGTH_MAX = 120;
/** A few words of the crew's own: an active, a lot, a colony. Edge spaces would split an arm in silence. */
const word = z
  .string()
  .min(1, 'is empty: leave it out instead')
  .max(WORD_LENGTH_MAX, `is longer than ${WORD_LENGTH_MAX} letters`)
  .regex(/^\S(?:.*\S)?$/u, 'has a space at an end or a line break')
  .regex(/^\P{Cc}*$/u, 'has a control character');

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
});
const visitClosed = z.strictObject({ type: z.literal('visit-closed'), visit: visitId, at: instant });

const cupLoaded = z.strictObject({
  type: z.literal('cup-loaded'),
  visit: visitId,
  cup: cupLabel,
  kind: z.enum(['strip', 'no-strip']),
  active: word.nullable(),
  lot: word.nullable(),
  colony: word.nullable(),
  group: word.nullable(),
  at: instant,
});
const cupSeated = z.strictObject({
  type: z.literal('cup-seated'),
  cup: cupLabel,
  carrier: carrierId,
  slot,
  at: instant,
});
const cupMoved = z.strictObject({
  type: z.literal('cup-moved'),
  cup: cupLabel,
  carrier: carrierId,
  slot,
  at: instant,
});
const cupLifted = z.strictObject({ type: z.literal('cup-lifted'), cup: cupLabel, at: instant });
const cupTurned = z.strictObject({ type: z.literal('cup-turned'), cup: cupLabel, at: instant });
const cupSpoiled = z.strictObject({
  type: z.literal('cup-spoiled'),
  cup: cupLabel,
  at: instant,
  why: textRef,
});
/** Counts as they become known: only those read this time; null is "not read", never 0. */
const cupCounted = z.strictObject({
  type: z.literal('cup-counted'),
  cup: cupLabel,
  at: instant,
  tray: count.nullable(),
  wash: count.nullable(),
  bees: count.nullable(),
});
const countCorrected = z.strictObject({
  type: z.literal('count-corrected'),
  cup: cupLabel,
  at: instant,
  field: z.enum(['tray', 'wash', 'bees']),
  old: count,
  new: count,
  why: textRef,
});

/** What the rules said of a cup at that moment; recorded before its counts are, and again when it changed. */
const cupRuled = z.strictObject({
  type: z.literal('cup-ruled'),
  cup: cupLabel,
  ruling: z.enum(RULINGS),
  reasons: z.array(z.string()),
  at: instant,
});
/** A person sets a ruling aside, with a reason; the ruling by rule stays on record beside it. */
const cupOverruled = z.strictObject({
  type: z.literal('cup-overruled'),
  cup: cupLabel,
  ruling: z.enum(RULINGS),
  why: textRef,
  at: instant,
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

const boardBound = z.strictObject({
  type: z.literal('board-bound'),
  carrier: carrierId,
  board: boardId,
  at: instant,
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
  /** What proves when it ran; `nothing` leaves its readings kept and unused. */
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

export const factSchema = z.discriminatedUnion('type', [
  iceChecked,
  placementMapped,
  lagMeasured,
  storeCreated,
  visitOpened,
  visitClosed,
  cupLoaded,
  cupSeated,
  cupMoved,
  cupLifted,
  cupTurned,
  cupSpoiled,
  cupCounted,
  countCorrected,
  cupRuled,
  cupOverruled,
  probeAssigned,
  boardBound,
  boardBooted,
  probesFound,
  bootRead,
  clockCompared,
  markStamped,
  boardWarned,
  pagesLost,
  mirrorRefused,
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
