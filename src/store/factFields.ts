import { z } from 'zod';
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
import { parseInstant, type UtcMs } from '../units/time.js';

/** What facts are made of. Times are RFC 3339 UTC text in the file and instants in the program. */
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
export const instant = id<string>(
  (text) => (parseInstant(text) === null ? null : text),
  'an RFC 3339 time with its offset',
).transform((text) => parseInstant(text) as UtcMs);
export const count = z.int().min(0);
export const SLOT_MAX = 16;
export const slot = z.int().min(1).max(SLOT_MAX);
export const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
/** What a store's first fact calls it. */
export const storeId = z.string().regex(/^[0-9a-f]{16}$/);
/** Reference to a text kept outside the chain. */
export const textRef = sha256;
const WORD_LENGTH_MAX = 120;
/** A few words of the crew's own: an active, a lot, a colony. Edge spaces would split an arm in silence. */
export const word = z
  .string()
  .min(1, 'is empty: leave it out instead')
  .max(WORD_LENGTH_MAX, `is longer than ${WORD_LENGTH_MAX} letters`)
  .regex(/^\S(?:.*\S)?$/u, 'has a space at an end or a line break')
  .regex(/^\P{Cc}*$/u, 'has a control character');
