import { type DurationMs, type MonotonicMs, seconds, type UtcMs } from '../units/time.js';
import type { AnswerEvent, CommandResult } from './events.js';
import { type BoardCommand, encodeCommand } from './wire/command.js';

/**
 * The host's side of the command line, pure: one command at a time, each repeated a bounded number of times until
 * its answer comes. A board that never answers costs nothing but the waiting.
 */
export interface CommandLink {
  readonly pending: {
    readonly command: BoardCommand;
    readonly sequence: number;
    readonly sentAt: MonotonicMs;
    readonly tries: number;
  } | null;
  readonly nextSequence: number;
}

/** How a command ended. `no-answer`: the board was silent to every repetition, or could read none of them. */
export interface Outcome {
  readonly command: BoardCommand;
  readonly result: CommandResult | 'no-answer';
  readonly values: readonly string[];
}

export const ANSWER_WITHIN: DurationMs = seconds(2);
export const TRIES_MAX = 4;
const SEQUENCES = 0x100;

export const IDLE: CommandLink = { pending: null, nextSequence: 1 };

interface Step {
  readonly link: CommandLink;
  /** The line to write, if any. */
  readonly send: string | null;
  readonly outcome: Outcome | null;
}
const quiet = (link: CommandLink): Step => ({ link, send: null, outcome: null });

export const isIdle = (link: CommandLink): boolean => link.pending === null;

/** Begins a command. Only one at a time: while one is pending this is an error of the caller. */
export function begin(link: CommandLink, command: BoardCommand, now: MonotonicMs, utc: UtcMs): Step {
  if (link.pending !== null)
    throw new Error(`${command.name}: ${link.pending.command.name} is still pending`);
  return transmit(link, command, 1, now, utc);
}

/** Takes an answer. One that belongs to another command, or to an earlier repetition of none, is ignored. */
export function hear(link: CommandLink, answer: AnswerEvent, now: MonotonicMs, utc: UtcMs): Step {
  const { pending } = link;
  if (pending === null) return quiet(link);
  const { command, tries } = pending;
  const isOurs = answer.commandSequence === pending.sequence && answer.command === command.name;
  // Damaged on its way: said again at once.
  const isUnread = answer.command === null && (answer.result === 'bad-crc' || answer.result === 'too-long');
  if (isUnread)
    return tries < TRIES_MAX
      ? transmit(link, command, tries + 1, now, utc)
      : ended(link, { command, result: 'no-answer', values: [] });
  if (!isOurs) return quiet(link);
  return ended(link, { command, result: answer.result, values: answer.values });
}

/** Repeats a command that has waited too long, or gives it up. */
export function tick(link: CommandLink, now: MonotonicMs, utc: UtcMs): Step {
  const { pending } = link;
  if (pending === null || now - pending.sentAt < ANSWER_WITHIN) return quiet(link);
  return pending.tries < TRIES_MAX
    ? transmit(link, pending.command, pending.tries + 1, now, utc)
    : ended(link, { command: pending.command, result: 'no-answer', values: [] });
}

/** Each repetition has a number of its own, so that a late answer to an earlier one is not taken for it. */
function transmit(
  link: CommandLink,
  command: BoardCommand,
  tries: number,
  now: MonotonicMs,
  utc: UtcMs,
): Step {
  const sequence = link.nextSequence;
  return {
    link: {
      pending: { command, sequence, sentAt: now, tries },
      nextSequence: (sequence + 1) % SEQUENCES,
    },
    send: encodeCommand(command, sequence, utc),
    outcome: null,
  };
}

const ended = (link: CommandLink, outcome: Outcome): Step => ({
  link: { ...link, pending: null },
  send: null,
  outcome,
});
