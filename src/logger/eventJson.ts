import { z } from 'zod';
import type { CarrierEvent } from '../carrier/events.js';
import { boardId, romId } from '../store/factFields.js';
import { celsiusDifference } from '../units/temperature.js';
import { boardMs, monotonicMs, utcMs } from '../units/time.js';

/** Events of sources as JSON: what a recording holds, and what it is checked against when it is read. */
const ms = <T extends number>(as: (value: number) => T) => z.number().transform(as);
const utc = ms(utcMs);
const board = ms(boardMs);
const count = z.int().min(0);
const arrival = z.strictObject({ utc, monotonic: ms(monotonicMs) });
const told = { arrival, boardMs: board, board: boardId, bootCount: count };
const clock = z.enum(['absent', 'running', 'stopped']);
const slots = z.array(count).readonly();
/** Bytes as hexadecimal digits. */
const bytes = z
  .string()
  .regex(/^(?:[0-9a-f]{2})*$/)
  .transform((hex): Uint8Array => Uint8Array.from(Buffer.from(hex, 'hex')));

const commands = [
  'identify',
  'time',
  'period',
  'limits',
  'due',
  'acknowledge',
  'resend',
  'marks',
  'search',
  'settings',
] as const;
const results = [
  'done',
  'bad-crc',
  'too-long',
  'unknown-command',
  'bad-field',
  'out-of-range',
  'unavailable',
] as const;
const statuses = [
  'ok',
  'bad-crc',
  'all-zero',
  'missing',
  'not-converted',
  'bad-configuration',
  'restarted',
  'first-conversion',
  'unchanging',
] as const;
const warnings = [
  'log-nearly-full',
  'log-overwritten',
  'memory-lost',
  'memory-back',
  'clock-lost',
  'probe-lost',
] as const;
const discards = [
  'too-long',
  'unfinished',
  'no-frame',
  'bad-crc',
  'unknown-kind',
  'bad-field',
  'before-boot',
  'unknown-table',
  'repeated',
  'bad-rom',
  'damaged-page',
] as const;

const probe = z
  .strictObject({ index: count, rom: romId, uncertainty: z.number().optional() })
  .transform(({ uncertainty, ...rest }) =>
    uncertainty === undefined ? rest : { ...rest, uncertainty: celsiusDifference(uncertainty) },
  );

export const eventSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('boot'),
    ...told,
    resetCause: z.enum(['power-on', 'brown-out', 'external', 'watchdog', 'unknown']),
    firmwareVersion: z.string(),
    protocolVersion: count,
    clock,
  }),
  z.strictObject({
    kind: z.literal('probes'),
    ...told,
    table: count,
    probes: z.array(probe).readonly(),
  }),
  z.strictObject({
    kind: z.literal('scan'),
    ...told,
    scan: count,
    table: count,
    readings: z
      .array(z.strictObject({ rom: romId, index: count, raw: z.int().nullable(), status: z.enum(statuses) }))
      .readonly(),
  }),
  z.strictObject({ kind: z.literal('heartbeat'), ...told }),
  z.strictObject({
    kind: z.literal('answer'),
    arrival,
    command: z.enum(commands).nullable(),
    commandSequence: count,
    result: z.enum(results),
    values: z.array(z.string()).readonly(),
  }),
  z.strictObject({ kind: z.literal('log-page'), ...told, page: count, bytes }),
  z.strictObject({
    kind: z.literal('log-state'),
    ...told,
    store: z.enum(['memory', 'ram', 'mounting']),
    oldest: count,
    open: count,
    acknowledged: count,
    room: count,
  }),
  z.strictObject({
    kind: z.literal('clock'),
    ...told,
    clock,
    utc: utc.nullable(),
    sets: count.nullable().default(null),
  }),
  z.strictObject({
    kind: z.literal('mark'),
    ...told,
    mark: count,
    markBoot: count,
    markMs: board,
    utc: utc.nullable(),
    sets: count.nullable().default(null),
  }),
  z.strictObject({
    kind: z.literal('settings'),
    ...told,
    periodWithHostSeconds: count,
    periodAloneSeconds: count,
    slots: count,
  }),
  z.strictObject({
    kind: z.literal('slot-setting'),
    ...told,
    slot: count,
    rom: romId,
    cold: z.int().nullable(),
    hot: z.int().nullable(),
    due: utc.nullable(),
  }),
  z.strictObject({ kind: z.literal('alarms'), ...told, act: slots, due: slots, isMuted: z.boolean() }),
  z.strictObject({ kind: z.literal('warning'), ...told, warning: z.enum(warnings), detail: count }),
  z.strictObject({ kind: z.literal('discarded'), arrival, reason: z.enum(discards), bytes: count }),
  z.strictObject({
    kind: z.literal('link'),
    arrival,
    state: z.enum(['open', 'closed', 'lost-lines', 'note']),
    detail: z.string(),
  }),
]) satisfies z.ZodType<CarrierEvent>;

/** An event as it stands in a recording. */
export function eventToJson(event: CarrierEvent): object {
  // Whatever a source can say must be readable again.
  const readable: z.infer<typeof eventSchema> = event;
  return readable.kind === 'log-page'
    ? { ...readable, bytes: Buffer.from(readable.bytes).toString('hex') }
    : readable;
}
