import { type Command, Option } from 'commander';
import { isLogging, loggerTime } from '../logger/presence.js';
import { SLOT_MAX } from '../store/factFields.js';
import type { Fact } from '../store/facts.js';
import { kindOfFile } from '../store/header.js';
import { openStoreToRead, openStoreToWrite, type Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { CarrierId } from '../units/ids.js';
import { LABEL_RULE, parseCarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import { EMPTY_SEASON, type Season, seasonOf } from '../visit/season.js';
import type { Io } from './io.js';

/** What every command is given: where it prints, and the clock. */
export interface Context {
  readonly io: Io;
  readonly clock: Clock;
}

export const DEFAULT_STORE = 'stillwarm.sqlite';

/** Adds the options that commands on a store have in common. */
export function onStore(command: Command): Command {
  return withStore(command).option('--json', 'print JSON');
}

/** The same for commands that print nothing of their own. */
export function withStore(command: Command): Command {
  return command.addOption(new Option('--store <file>', 'the store to use').default(DEFAULT_STORE));
}

export interface StoreOptions {
  readonly store: string;
  readonly json?: true;
}

/**
 * The time for what is recorded now. While a logger is at work on the store it is the logger's own, by which readings
 * are labelled and which no setting of the wall clock moves; else the wall clock.
 */
export function nowIn(path: string, { clock }: Pick<Context, 'clock'>): UtcMs {
  const now = clock.utc();
  if (kindOfFile(path) !== 'store') return now;
  return closing(openStoreToRead(path), (store) => {
    const row = store.logger();
    return row !== null && isLogging(row, now) ? utcMs(Math.round(loggerTime(row, now))) : now;
  });
}

/** Opens a store to append to, hands it on, and closes it whatever happens. */
export function writing<T>(context: Context, path: string, task: (store: Store) => T): T {
  return closing(openStoreToWrite(path, context.clock.utc(), context.io.err), task);
}

/** Opens a store that must exist, to read. */
export function reading<T>(path: string, task: (store: Store, season: Season) => T): T {
  return closing(openStoreToRead(path), (store) => task(store, seasonOf(store)));
}

/** What a store holds, to be read; nothing when there is no store yet. */
export const seasonIfAny = (path: string): Season =>
  kindOfFile(path) === 'store' ? reading(path, (_store, season) => season) : EMPTY_SEASON;

function closing<T>(store: Store, task: (store: Store) => T): T {
  try {
    return task(store);
  } finally {
    store.close();
  }
}

/** Reads an id typed by a person, or says what one may look like. */
export function typed<Id>(parse: (text: string) => Id | null, what: string, text: string): Id {
  const id = parse(text);
  if (id === null) throw new Refusal(`${text} is not a ${what}; use ${LABEL_RULE}.`);
  return id;
}

/** Reads `CARRIER:SLOT`. */
export function typedSlot(text: string): { carrier: CarrierId; slot: number } {
  const [name = '', number = ''] = text.split(':');
  const slot = Number(number);
  const carrier = parseCarrierId(name);
  if (carrier === null || !/^\d+$/.test(number) || slot < 1 || slot > SLOT_MAX)
    throw new Refusal(
      `${text} is not a slot; write CARRIER:SLOT, such as A:4, with slots from 1 to ${SLOT_MAX}.`,
    );
  return { carrier, slot };
}

/** Reads a count typed by a person: a whole number from 0 on; null when not given. */
export function typedCount(name: string, text: string | undefined): number | null {
  if (text === undefined) return null;
  if (!/^\d{1,6}$/.test(text))
    throw new Refusal(`--${name} ${text} is not a count; write a whole number from 0 on.`);
  return Number(text);
}

/** Collects an option that may be given several times. */
export const several = (value: string, before: readonly string[] | undefined): string[] => [
  ...(before ?? []),
  value,
];

/** A fact as it is printed. */
export const toJsonFact = (fact: Fact) => ({ ...fact, at: formatInstant(fact.at) });

/** Prints what was recorded: the sentence for people, or the facts as JSON, without rulings. */
export function report(io: Io, json: boolean | undefined, facts: readonly Fact[], sentence: string): void {
  // Rulings are put on record beside counts; whoever goes on counting should not read them here.
  const told = facts.filter(({ type }) => type !== 'cup-ruled');
  io.out(json ? JSON.stringify(told.map(toJsonFact)) : sentence);
}
