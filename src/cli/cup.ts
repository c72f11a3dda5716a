import type { Command } from 'commander';
import { RULINGS } from '../exposure/types.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import { type CupLabel, parseCupLabel } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import { inZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import { rulingFacts } from '../visit/ruleBlind.js';
import { foldSeason, type Season, type Visit } from '../visit/season.js';
import { probeIn } from '../visit/slots.js';
import {
  type Context,
  nowIn,
  onStore,
  report,
  type StoreOptions,
  typed,
  typedCount,
  typedSlot,
  writing,
} from './context.js';
import { cautionAt } from './safety.js';
import { visitOf } from './visit.js';
import { instantAt } from './when.js';

interface CupOptions extends StoreOptions {
  readonly at?: string;
}
interface LoadOptions extends CupOptions {
  readonly visit?: string;
  readonly strip: boolean;
  readonly active?: string;
  readonly lot?: string;
  readonly colony?: string;
  readonly group?: string;
}
interface CountOptions extends CupOptions {
  readonly tray?: string;
  readonly wash?: string;
  readonly bees?: string;
  readonly why?: string;
}

const WHEN = "when, HH:MM today in the visit's zone or RFC 3339 (default: now)";

/** The command `cup`: what the crew does with one cup. */
export function define(cup: Command, context: Context): void {
  const step = (usage: string, description: string) =>
    onStore(cup.command(usage)).description(description).option('--at <time>', WHEN);

  step('load <cup>', 'bees meet the strip: the exposure begins')
    .option('--visit <visit>', 'the visit it belongs to (default: the only open one)')
    .option('--no-strip', 'a cup without strip, which shows what falls by itself')
    .option('--active <words>', "the active, when it differs from the visit's")
    .option('--lot <words>', "the strip's lot, when it differs from the visit's")
    .option('--colony <name>', 'the colony the bees come from')
    .option('--group <name>', 'the mother line of the colony')
    .action((label: string, options: LoadOptions) => load(label, options, context));

  for (const [verb, type, done] of [
    ['seat', 'cup-seated', 'seated in'],
    ['move', 'cup-moved', 'moved to'],
  ] as const)
    step(
      `${verb} <cup> <slot>`,
      `${verb} a cup ${verb === 'seat' ? 'into' : 'to'} a slot, written CARRIER:SLOT`,
    ).action((label: string, place: string, options: CupOptions) => {
      const { carrier, slot } = typedSlot(place);
      const made = onCup(label, options, context, (name, at) => [{ type, cup: name, carrier, slot, at }]);
      report(context.io, options.json, made.facts, `cup ${label} ${done} ${carrier}:${slot} at ${made.when}`);
      if (probeIn(made.season.carriers.get(carrier), slot, made.at) === null)
        context.io.err(
          `slot ${carrier}:${slot} has no probe yet, so the cup is not observed; assign one with probe assign.`,
        );
    });

  step('lift <cup>', 'take a cup out of its slot').action((label: string, options: CupOptions) => {
    const made = onCup(label, options, context, (name, at) => [{ type: 'cup-lifted', cup: name, at }]);
    report(context.io, options.json, made.facts, `cup ${label} lifted at ${made.when}`);
  });

  step('turn <cup>', 'the exposure ends').action((label: string, options: CupOptions) => {
    const made = onCup(label, options, context, (name, at) => [{ type: 'cup-turned', cup: name, at }]);
    report(context.io, options.json, made.facts, `cup ${label} turned at ${made.when}; read its tray now`);
    const visit = made.season.cups.get(made.cup)!.visit;
    const turned = [...made.season.cups.values()].filter((cup) => cup.visit === visit && cup.turn !== null);
    // The wash comes next; said once a visit, not with each of ten cups.
    if (turned.length === 1) context.io.err(cautionAt('wash'));
  });

  step('spoil <cup>', 'a cup that must not count, whatever was read')
    .requiredOption('--why <words>', 'what happened')
    .action((label: string, options: CupOptions & { why: string }) => {
      const made = onCup(label, options, context, (name, at, _season, store) => [
        { type: 'cup-spoiled', cup: name, at, why: store.keepText(reason(options.why)) },
      ]);
      report(context.io, options.json, made.facts, `cup ${label} marked as spoiled at ${made.when}`);
    });

  step('overrule <cup> <ruling>', 'set a ruling aside, with a reason; the ruling by rule stays on record')
    .requiredOption('--why <words>', 'why it does not hold')
    .action((label: string, ruling: string, options: CupOptions & { why: string }) => {
      const known = RULINGS.find((each) => each === ruling);
      if (!known) throw new Refusal(`${ruling} is not a ruling; write one of ${RULINGS.join(', ')}.`);
      const made = onCup(label, options, context, (name, at, season, store) => {
        const cup = season.cups.get(name);
        const ruled = cup ? rulingFacts(store, season, [cup], nowIn(options.store, context)) : [];
        return [
          ...ruled,
          { type: 'cup-overruled', cup: name, ruling: known, at, why: store.keepText(reason(options.why)) },
        ];
      });
      report(
        context.io,
        options.json,
        made.facts,
        `cup ${label} counts as ${known} from ${made.when}; both stand in the result`,
      );
    });

  step('count <cup>', 'mites on the tray, mites in the wash, bees; each when it is known')
    .option('--tray <mites>', 'mites on the tray')
    .option('--wash <mites>', 'mites in the wash (alcohol: outdoors, no flame, engine off, lid on)')
    .option('--bees <number>', 'bees in the cup')
    .option('--why <words>', 'why an earlier count is corrected')
    .action((label: string, options: CountOptions) => count(label, options, context));
}

/** A reason typed by a person; an empty one is none. */
function reason(text: string): string {
  if (text.trim() === '') throw new Refusal('--why is empty; say in a few words what happened.');
  return text.trim();
}

function load(label: string, options: LoadOptions, context: Context): void {
  const cup = typed(parseCupLabel, 'cup label', label);
  const now = nowIn(options.store, context);
  writing(context, options.store, (store) => {
    let zone = 'UTC';
    const facts = record(store, now, (season) => {
      const visit = options.visit === undefined ? onlyOpenVisit(season) : visitOf(season, options.visit);
      zone = visit.zone;
      return [
        {
          type: 'cup-loaded',
          visit: visit.visit,
          cup,
          kind: options.strip ? 'strip' : 'no-strip',
          active: options.strip ? (options.active ?? visit.active) : null,
          lot: options.strip ? (options.lot ?? visit.lot) : null,
          colony: options.colony ?? null,
          group: options.group ?? null,
          at: instantAt(options.at, zone, now),
        },
      ];
    });
    report(context.io, options.json, facts, `cup ${cup} loaded at ${inZone(facts[0]!.at, zone)}`);
  });
}

function count(label: string, options: CountOptions, context: Context): void {
  const given = {
    tray: typedCount('tray', options.tray),
    wash: typedCount('wash', options.wash),
    bees: typedCount('bees', options.bees),
  };
  if (given.tray === null && given.wash === null && given.bees === null)
    throw new Refusal('Give at least one of --tray, --wash and --bees.');
  const made = onCup(label, options, context, (name, at, season, store) => {
    const cup = season.cups.get(name);
    const ruled = cup ? rulingFacts(store, season, [cup], nowIn(options.store, context)) : [];
    const before = cup?.counts;
    const corrects = (['tray', 'wash', 'bees'] as const).some(
      (field) => given[field] !== null && before?.[field] !== null && before !== undefined,
    );
    if (options.why !== undefined && before !== undefined && !corrects)
      throw new Refusal(
        `Nothing of cup ${label} was counted before, so there is nothing to correct; leave out --why.`,
      );
    if (options.why === undefined || before === undefined)
      return [...ruled, { type: 'cup-counted', cup: name, at, ...given }];
    const why = store.keepText(reason(options.why));
    const changes = (['tray', 'wash', 'bees'] as const).flatMap((field): Fact[] => {
      const value = given[field];
      const old = before[field];
      if (value === null) return [];
      if (old !== null) return [{ type: 'count-corrected', cup: name, at, field, old, new: value, why }];
      return [{ type: 'cup-counted', cup: name, at, tray: null, wash: null, bees: null, [field]: value }];
    });
    return [...ruled, ...changes];
  });
  const { tray, wash, bees } = made.season.cups.get(made.cup)!.counts;
  const word = (value: number | null) => value ?? 'not read';
  report(
    context.io,
    options.json,
    made.facts,
    `cup ${label}: tray ${word(tray)}, wash ${word(wash)}, bees ${word(bees)} (recorded for ${made.when})`,
  );
}

/** Records facts of one cup and gives back what a sentence about them needs. */
function onCup(
  label: string,
  options: CupOptions,
  context: Context,
  make: (cup: CupLabel, at: UtcMs, season: Season, store: Store) => Fact[],
) {
  const cup = typed(parseCupLabel, 'cup label', label);
  const now = nowIn(options.store, context);
  return writing(context, options.store, (store) => {
    let zone = 'UTC';
    const facts = record(store, now, (season) => {
      const known = season.cups.get(cup);
      if (known) zone = season.visits.get(known.visit)!.zone;
      return make(cup, instantAt(options.at, zone, now), season, store);
    });
    const at = facts.at(-1)?.at ?? now;
    return { cup, facts, at, when: inZone(at, zone), season: foldSeason(store.facts()) };
  });
}

function onlyOpenVisit(season: Season): Visit {
  const open = [...season.visits.values()].filter(({ closed }) => closed === null);
  if (open.length === 1) return open[0]!;
  throw new Refusal(
    open.length === 0
      ? 'No visit is open; open one with visit open.'
      : `Several visits are open (${open.map(({ visit }) => visit).join(', ')}); say which with --visit.`,
  );
}
