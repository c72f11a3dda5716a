import type { Command } from 'commander';
import type { Fact } from '../../store/facts.js';
import type { Store } from '../../store/store.js';
import { type CupLabel, parseCarrierId, parseCupLabel } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { type DurationMs, durationMs, MS_PER_MINUTE, MS_PER_SECOND, type UtcMs } from '../../units/time.js';
import { inZone } from '../../units/zone.js';
import type { Entering, SlotName } from '../../visit/actions.js';
import { record } from '../../visit/record.js';
import { type Season, seasonOf } from '../../visit/season.js';
import { instantAt } from '../../visit/when.js';
import { type Context, nowIn, onStore, type StoreOptions, typed, typedSlot, writing } from '../context.js';
import { byOption, whoDoes } from '../whoDoes.js';
import { WrongCommandLine } from '../wrongCommandLine.js';

/** Options of everything that is entered for a cup. */
export interface EntryOptions extends StoreOptions {
  readonly cup?: string;
  readonly by?: string;
  readonly at?: string;
  readonly within?: string;
  readonly late?: string;
}

const WHEN = "when, HH:MM today in the visit's zone or RFC 3339 (default: now)";

/** A subcommand on one cup, named as its first argument or by --cup. */
export function onCupEntry(parent: Command, usage: string, description: string): Command {
  return onStore(parent.command(usage))
    .description(description)
    .option('--cup <label>', 'the cup, when it is not the first word')
    .option('--at <time>', WHEN)
    .option(...byOption('who says so'));
}

/** The same for what happens to a cup in its exposure: it may have been entered late, and roughly. */
export function onCupEvent(parent: Command, usage: string, description: string): Command {
  return onCupEntry(parent, usage, description)
    .option('--within <span>', 'how far the true time may lie off, either way, as 90s or 2m')
    .option('--late <words>', 'why it is entered late');
}

/** The label that was given in one of the two ways. */
export function cupNamed(first: string | undefined, { cup }: EntryOptions): CupLabel {
  if (first !== undefined && cup !== undefined && first !== cup)
    throw new WrongCommandLine(`Two cups are named, ${first} and ${cup}; give one.`);
  const name = first ?? cup;
  if (name === undefined) throw new WrongCommandLine('Say which cup: its label comes first, or after --cup.');
  return typed(parseCupLabel, 'cup label', name);
}

/** The slot that was given, which must be. */
export function slotGiven(text: string | undefined): string {
  if (text === undefined)
    throw new WrongCommandLine('Say which slot, as A:4, or its number when there is one carrier only.');
  return text;
}

/** A slot by `CARRIER:SLOT`, or by its number when there is one carrier only. */
export function slotNamed(text: string, season: Season): SlotName {
  if (!/^\d+$/.test(text)) return typedSlot(text);
  const carriers = [...season.carriers.keys()];
  if (carriers.length === 1) return typedSlot(`${carriers[0]}:${text}`);
  throw new Refusal(
    carriers.length === 0
      ? `Slot ${text} of which carrier? Write it as A:${text}.`
      : `Slot ${text} of which carrier? There are ${carriers.join(', ')}; write it as ${carriers[0]}:${text}.`,
  );
}

/** The label of a carrier typed by a person. */
export const carrierNamed = (text: string) => typed(parseCarrierId, 'carrier name', text);

/** A span typed by a person. */
export function spanNamed(option: string, text: string): DurationMs {
  const [, number, unit] = /^(\d{1,4})(s|m|min)$/.exec(text) ?? [];
  if (number === undefined)
    throw new Refusal(`--${option} ${text} is not a span; write seconds or minutes, as 90s or 2m.`);
  return durationMs(Number(number) * (unit === 's' ? MS_PER_SECOND : MS_PER_MINUTE));
}

/** Words typed by a person; empty ones are none. */
export function wordsOf(option: string, text: string): string {
  if (text.trim() === '') throw new Refusal(`--${option} is empty; say in a few words what happened.`);
  return text.trim();
}

/** What was recorded, with what a sentence about it needs. */
export interface Made {
  readonly cup: CupLabel;
  readonly facts: readonly Fact[];
  readonly at: UtcMs;
  /** In the zone of the cup's visit. */
  readonly when: string;
  readonly zone: string;
  readonly season: Season;
}

/**
 * Records facts of one cup in one transaction.
 *
 * @param make gives the facts; `zoneOf` names the visit of a cup that is not loaded yet
 */
export function enter(
  cup: CupLabel,
  options: EntryOptions,
  context: Context,
  make: (season: Season, entering: Entering, store: Store) => readonly Fact[],
  zoneOf: (season: Season) => string = (season) => zoneOfCup(season, cup),
): Made {
  const now = nowIn(options.store, context);
  const who = whoDoes(options);
  const within = options.within === undefined ? null : spanNamed('within', options.within);
  const late = options.late === undefined ? null : wordsOf('late', options.late);
  return writing(context, options.store, (store) => {
    let [zone, at] = ['UTC', now];
    const facts = record(store, now, (season) => {
      zone = zoneOf(season);
      at = instantAt(options.at, zone, now);
      return make(season, { store, at, within, who, late, now }, store);
    });
    return { cup, facts, at, when: inZone(at, zone), zone, season: seasonOf(store) };
  });
}

/** The zone of a cup's visit; UTC while it has none. */
export function zoneOfCup(season: Season, cup: CupLabel): string {
  const known = season.cups.get(cup);
  return known ? season.visits.get(known.visit)!.zone : 'UTC';
}
