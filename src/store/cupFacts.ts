import { z } from 'zod';
import { RULINGS } from '../../shared/types.js';
import { carrierId, count, cupLabel, instant, slot, storeId, textRef, visitId, word } from './factFields.js';

/** A stated time further off than this is no memory but a guess. */
const PRECISION_MAX_MS = 12 * 60 * 60 * 1000;

/** What any entry of a person may carry; facts of an earlier version carry none of it. */
const entered = {
  /** Who says so. */
  who: textRef.optional(),
};

/** What an event of an exposure may carry besides. */
const event = {
  ...entered,
  /** How far the true time may lie from `at`, either way; exact when left out. */
  withinMs: z.int().min(1).max(PRECISION_MAX_MS).optional(),
  /** Why it was entered late. */
  late: textRef.optional(),
};

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
  ...event,
});
const cupSeated = z.strictObject({
  type: z.literal('cup-seated'),
  cup: cupLabel,
  carrier: carrierId,
  slot,
  at: instant,
  ...event,
});
const cupMoved = z.strictObject({
  type: z.literal('cup-moved'),
  cup: cupLabel,
  carrier: carrierId,
  slot,
  at: instant,
  ...event,
});
const cupLifted = z.strictObject({ type: z.literal('cup-lifted'), cup: cupLabel, at: instant, ...event });
const cupTurned = z.strictObject({ type: z.literal('cup-turned'), cup: cupLabel, at: instant, ...event });
const cupSpoiled = z.strictObject({
  type: z.literal('cup-spoiled'),
  cup: cupLabel,
  at: instant,
  why: textRef,
  /** The cup that was filled in its place. */
  replacedBy: cupLabel.optional(),
  ...entered,
});

/** How a number of bees was come by. */
export const BEE_METHODS = ['counted', 'weighed', 'estimated'] as const;
/** How many of the bees were found dead when the cup was turned. */
export const DEAD_BEES = ['none', 'some', 'most'] as const;

/** Counts as they become known: only those read this time; null is "not read", never 0. */
const cupCounted = z.strictObject({
  type: z.literal('cup-counted'),
  cup: cupLabel,
  at: instant,
  tray: count.nullable(),
  /** Mites of the first wash. */
  wash: count.nullable(),
  bees: count.nullable(),
  /** Mites of one more wash of the same bees. */
  washAgain: count.optional(),
  /** How `bees` was come by; counted when left out. */
  beesHow: z.enum(BEE_METHODS).optional(),
  /** Coefficient of variation of `bees`, when they were not counted. */
  beesCv: z.number().positive().max(1).optional(),
  dead: z.enum(DEAD_BEES).optional(),
  ...entered,
});
const countCorrected = z.strictObject({
  type: z.literal('count-corrected'),
  cup: cupLabel,
  at: instant,
  field: z.enum(['tray', 'wash', 'bees']),
  /** Which wash, when it is not the first. */
  washNumber: z.int().min(2).optional(),
  old: count,
  new: count,
  why: textRef,
  ...entered,
});

/** What an entry says that can have been written down wrongly. */
export const ENTRY_FIELDS = [
  'at',
  'withinMs',
  'carrier',
  'slot',
  'kind',
  'active',
  'lot',
  'colony',
  'group',
] as const;
/** The store whose chain the entry stands in, when it is another one that was gathered. */
export const otherChain = { chain: storeId.optional() };
const written = z.union([z.string(), z.number(), z.null()]);
/** One field of an earlier fact of this cup was wrong. Times are RFC 3339 text. */
const entryCorrected = z.strictObject({
  type: z.literal('entry-corrected'),
  cup: cupLabel,
  /** The number of the fact. */
  entry: count,
  ...otherChain,
  field: z.enum(ENTRY_FIELDS),
  old: written,
  new: written,
  why: textRef,
  at: instant,
  ...entered,
});
/** An earlier fact of this cup did not happen. */
const entryWithdrawn = z.strictObject({
  type: z.literal('entry-withdrawn'),
  cup: cupLabel,
  entry: count,
  ...otherChain,
  why: textRef,
  at: instant,
  ...entered,
});
/** A person's words on a cup. */
const cupNoted = z.strictObject({
  type: z.literal('cup-noted'),
  cup: cupLabel,
  text: textRef,
  at: instant,
  ...entered,
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
  ...entered,
});

/** What is recorded of a cup. */
export const CUP_FACTS = [
  cupLoaded,
  cupSeated,
  cupMoved,
  cupLifted,
  cupTurned,
  cupSpoiled,
  cupCounted,
  countCorrected,
  entryCorrected,
  entryWithdrawn,
  cupNoted,
  cupRuled,
  cupOverruled,
] as const;
