import { z } from 'zod';
import { crc16 } from '../carrier/wire/crc16.js';
import type { Anchor } from '../exposure/boardTime.js';
import { boardId, carrierId } from '../store/factFields.js';
import { monotonicMs, utcMs } from '../units/time.js';
import { eventSchema, eventToJson } from './eventJson.js';

/**
 * The lines of a recording: one JSON object each, its number in its section, then `*` and the CRC-16/CCITT-FALSE of
 * what stands before. A section begins with each start of a logger. What the recorder was told, and when, is all there:
 * told the same again, it writes the same.
 */
const utc = z.number().transform(utcMs);
const count = z.int().min(0);
const anchor = z.strictObject({
  utc,
  monotonic: z.number().transform(monotonicMs),
}) satisfies z.ZodType<Anchor>;
const ofSource = { source: count, now: utc };

const entrySchema = z.discriminatedUnion('is', [
  /** A section begins. */
  z.strictObject({ is: z.literal('recording'), version: z.literal(1) }),
  z.strictObject({
    is: z.literal('source'),
    source: count,
    name: z.string(),
    carrier: carrierId.nullable(),
    anchor,
  }),
  z.strictObject({ is: z.literal('event'), ...ofSource, event: eventSchema }),
  z.strictObject({
    is: z.literal('take-in'),
    ...ofSource,
    /** Not all of the log had come. */
    isPart: z.literal(true).optional(),
    /** How many pages were read at most. */
    most: count.optional(),
  }),
  z.strictObject({ is: z.literal('lost-pages'), ...ofSource, board: boardId, first: count, last: count }),
]);

/** One thing that was recorded. */
export type Entry = z.infer<typeof entrySchema>;
export const HEADER: Entry = { is: 'recording', version: 1 };
/** How every recording begins. */
export const HEADER_START = '{"n":1,"is":"recording"';

/** A line without its LF. @param number counts the lines of a section from 1 */
export function entryLine(number: number, entry: Entry): string {
  const plain = entry.is === 'event' ? { ...entry, event: eventToJson(entry.event) } : entry;
  const json = JSON.stringify({ n: number, ...plain });
  return `${json}*${crc16(json).toString(16).padStart(4, '0')}`;
}

/** What is wrong with a line, in words that follow "line 7". */
export interface BadLine {
  readonly bad: string;
}

const LINE = /^(\{.*\})\*([0-9a-f]{4})$/;

/** Reads one line without its LF. */
export function readEntryLine(line: string): { readonly number: number; readonly entry: Entry } | BadLine {
  const match = LINE.exec(line);
  if (!match) return { bad: 'is not a line of a recording, or is cut off' };
  const [, json, crc] = match as unknown as [string, string, string];
  if (crc16(json) !== Number.parseInt(crc, 16)) return { bad: 'does not fit its check sum: it was changed' };
  let parsed: unknown;
  try {
    parsed = JSON.parse(json);
  } catch {
    return { bad: 'is not JSON' };
  }
  const { n, ...rest } = parsed as { n?: unknown };
  const checked = entrySchema.safeParse(rest);
  if (!checked.success || typeof n !== 'number') {
    const issue = checked.error?.issues[0];
    return { bad: `holds something this version does not know (${issue?.path.join('.') || 'n'})` };
  }
  return { number: n, entry: checked.data };
}
