import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { type DurationMs, seconds } from '../units/time.js';
import { begin, hear, IDLE, type Outcome, tick } from './commandLink.js';
import type { CarrierEvent } from './events.js';
import type { CarrierSource } from './source.js';
import type { BoardCommand } from './wire/command.js';

/** A short talk with one board: questions, answers, and everything heard meanwhile. */
export interface BoardSession {
  readonly heard: readonly CarrierEvent[];
  /** Says one command and waits for its outcome. */
  ask(command: BoardCommand): Promise<Outcome>;
  /** Waits until an event of this kind has been heard, at most so long; null when none came. */
  until<Kind extends CarrierEvent['kind']>(
    kind: Kind,
    atMost: DurationMs,
  ): Promise<Extract<CarrierEvent, { kind: Kind }> | null>;
  listen(duration: DurationMs): Promise<void>;
}

const POLL: DurationMs = seconds(0.05);
/** A bootloader that the opening of the port has started must give up first. */
const BOOT_WITHIN: DurationMs = seconds(70);

/** Opens the source, holds the talk, and closes it whatever happens. @throws {Refusal} when it cannot be opened */
export async function boardSession<T>(
  source: CarrierSource,
  clock: Clock,
  talk: (session: BoardSession) => Promise<T>,
): Promise<T> {
  await source.open();
  const stop = new AbortController();
  const heard: CarrierEvent[] = [];
  let link = IDLE;
  let outcome: Outcome | null = null;
  const settle = (step: ReturnType<typeof begin>) => {
    link = step.link;
    if (step.send !== null) source.write(step.send);
    outcome = step.outcome ?? outcome;
  };
  const running = source.run((event) => {
    heard.push(event);
    if (event.kind === 'answer') settle(hear(link, event, clock.monotonic(), clock.utc()));
  }, stop.signal);
  try {
    return await talk({
      heard,
      async ask(command) {
        outcome = null;
        settle(begin(link, command, clock.monotonic(), clock.utc()));
        for (;;) {
          if (outcome !== null) return outcome;
          await clock.sleep(POLL);
          settle(tick(link, clock.monotonic(), clock.utc()));
        }
      },
      async until(kind, atMost) {
        const end = clock.monotonic() + atMost;
        for (;;) {
          const found = heard.findLast((event) => event.kind === kind);
          if (found) return found as Extract<CarrierEvent, { kind: typeof kind }>;
          if (clock.monotonic() >= end) return null;
          await clock.sleep(POLL);
        }
      },
      listen: (duration) => clock.sleep(duration),
    });
  } finally {
    stop.abort();
    await running;
  }
}

/**
 * Finds out who is there. Most boards restart when the port is opened; one that does not is asked.
 *
 * @throws {Refusal} when nobody says who it is, or the firmware is too old to hear commands
 */
export async function meetBoard(session: BoardSession, port: string) {
  const answer = await session.ask({ name: 'identify' });
  const boot = await session.until('boot', answer.result === 'done' ? seconds(5) : BOOT_WITHIN);
  if (boot === null)
    throw new Refusal(
      `Nothing on ${port} says that it is a board of ours; check the port and the cable, or write the firmware with carrier flash.`,
    );
  if (answer.result === 'done') return boot;
  if ((await session.ask({ name: 'identify' })).result === 'done') return boot;
  throw new Refusal(
    `Board ${boot.board} on ${port} does not answer (firmware ${boot.firmwareVersion}, protocol ${boot.protocolVersion}); write a newer firmware with carrier flash.`,
  );
}
