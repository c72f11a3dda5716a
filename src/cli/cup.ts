import type { Command } from 'commander';
import type { Fact } from '../store/facts.js';
import { parseCupLabel, type VisitId } from '../units/ids.js';
import {
  type Entering,
  type Loading,
  liftCup,
  loadCup,
  moveCup,
  noteCup,
  onlyOpenVisit,
  overruleCup,
  replaceCup,
  rulingNamed,
  type SlotName,
  seatCup,
  spoilCup,
  turnCup,
} from '../visit/actions.js';
import { slotText } from '../visit/cup.js';
import type { Season } from '../visit/season.js';
import { probeIn } from '../visit/slots.js';
import { type Context, report, typed } from './context.js';
import { readReadyCsv } from './csv/readyCsv.js';
import { defineCounting } from './cup/cupCounting.js';
import {
  cupNamed,
  type EntryOptions,
  enter,
  type Made,
  onCupEntry,
  onCupEvent,
  slotGiven,
  slotNamed,
  wordsOf,
} from './cup/cupEntry.js';
import { defineRecord } from './cup/cupRecord.js';
import { cupPlanned, refuseUnopened } from './plan/fromPlan.js';
import { cautionAt } from './safety.js';
import { visitOf } from './visit.js';

interface LoadOptions extends EntryOptions {
  readonly visit?: string;
  readonly plan?: string;
  readonly strip: boolean;
  readonly active?: string;
  readonly lot?: string;
  readonly colony?: string;
  readonly group?: string;
}
interface SlotOptions extends EntryOptions {
  readonly slot?: string;
}
type WhyOptions = EntryOptions & { readonly why: string };

/** The command `cup`: what the crew does with one cup. */
export function define(cup: Command, context: Context): void {
  const say = (options: EntryOptions, { facts }: Made, sentence: string) =>
    report(context.io, options.json, facts, sentence);

  onCupEvent(cup, 'load [cup]', 'bees meet the strip: the exposure begins')
    .option('--visit <visit>', 'the visit it belongs to (default: the only open one)')
    .option('--plan <file>', 'take what is not said here from its row of a plan of plan day --out')
    .option('--no-strip', 'a cup without strip, which shows what falls by itself')
    .option('--active <words>', "the active, when it differs from the visit's")
    .option('--lot <words>', "the strip's lot, when it differs from the visit's")
    .option('--colony <name>', 'the colony the bees come from')
    .option('--group <name>', 'the mother line of the colony')
    .option('--slot <slot>', "the slot to seat it in at once, or none (default: none, or the plan's)")
    .action(async (first: string | undefined, given: LoadOptions & SlotOptions) => {
      const label = cupNamed(first, given);
      const options =
        given.plan === undefined ? given : cupPlanned(await readReadyCsv(given.plan), label, given);
      const visitIn = (season: Season) => {
        if (options.visit === undefined) return onlyOpenVisit(season);
        if (given.plan !== undefined && given.visit === undefined)
          refuseUnopened(season, label, options.visit as VisitId, given.plan);
        return visitOf(season, options.visit);
      };
      const made = enter(
        label,
        options,
        context,
        (season, entering) => [
          ...loadCup(visitIn(season), label, loadingOf(options), entering),
          ...seatedToo(label, options, season, entering),
        ],
        (season) => visitIn(season).zone,
      );
      say(
        options,
        made,
        `cup ${label} loaded at ${made.when}${seatText(made)}${given.plan === undefined ? '' : `; ${plannedText(made)}`}`,
      );
      tellUnobserved(made, context);
    });

  for (const [verb, make, done] of [
    ['seat', seatCup, 'seated in'],
    ['move', moveCup, 'moved to'],
  ] as const)
    onCupEvent(
      cup,
      `${verb} [cup] [slot]`,
      `${verb} a cup ${verb === 'seat' ? 'into' : 'to'} a slot, written CARRIER:SLOT`,
    )
      .option(
        '--slot <slot>',
        'the slot, when it is not the second word; its number when there is one carrier',
      )
      .action((first: string | undefined, second: string | undefined, options: SlotOptions) => {
        // With --cup, the only word is the slot.
        const [name, slot] =
          options.cup !== undefined && second === undefined ? [undefined, first] : [first, second];
        const label = cupNamed(name, options);
        const given = slotGiven(slot ?? options.slot);
        const made = enter(label, options, context, (season, entering) =>
          make(label, slotNamed(given, season), entering),
        );
        say(options, made, `cup ${label} ${done} ${slotText(placeIn(made)!)} at ${made.when}`);
        tellUnobserved(made, context);
      });

  onCupEvent(cup, 'lift [cup]', 'take a cup out of its slot').action(
    (first: string | undefined, options: EntryOptions) => {
      const label = cupNamed(first, options);
      const made = enter(label, options, context, (_season, entering) => liftCup(label, entering));
      say(options, made, `cup ${label} lifted at ${made.when}`);
    },
  );

  onCupEvent(cup, 'turn [cup]', 'the exposure ends').action(
    (first: string | undefined, options: EntryOptions) => {
      const label = cupNamed(first, options);
      const made = enter(label, options, context, (_season, entering) => turnCup(label, entering));
      say(options, made, `cup ${label} turned at ${made.when}; read its tray now`);
      const { visit } = made.season.cups.get(label)!;
      const turned = [...made.season.cups.values()].filter(
        (each) => each.visit === visit && each.turn !== null,
      );
      // The wash comes next; said once a visit, not with each of ten cups.
      if (turned.length === 1) context.io.err(cautionAt('wash'));
    },
  );

  withWhy(
    onCupEntry(cup, 'spoil [cup]', 'a cup that must not count, whatever was read'),
    'what happened',
  ).action((first: string | undefined, options: WhyOptions) => {
    const label = cupNamed(first, options);
    const made = enter(label, options, context, (_season, entering) =>
      spoilCup(label, wordsOf('why', options.why), entering),
    );
    say(options, made, `cup ${label} marked as spoiled at ${made.when}`);
  });

  withWhy(
    onCupEvent(cup, 'replace [cup]', 'load another cup in place of one that is lost; both stay on record'),
    'what happened to the first',
  )
    .requiredOption('--with <label>', 'the label of the cup that takes its place')
    .option('--slot <slot>', 'the slot to seat it in at once (default: none)')
    .action((first: string | undefined, options: WhyOptions & SlotOptions & { with: string }) => {
      const label = cupNamed(first, options);
      const fresh = typed(parseCupLabel, 'cup label', options.with);
      const made = enter(label, options, context, (season, entering): readonly Fact[] => [
        ...replaceCup(season, label, fresh, wordsOf('why', options.why), entering),
        ...seatedToo(fresh, options, season, entering),
      ]);
      say(options, made, `cup ${label} replaced by cup ${fresh}, loaded at ${made.when}${seatText(made)}`);
      tellUnobserved(made, context);
    });

  withWhy(
    onCupEntry(
      cup,
      'overrule <cup> <ruling>',
      'set a ruling aside, with a reason; the ruling by rule stays on record',
    ),
    'why it does not hold',
  ).action((first: string, ruling: string, options: WhyOptions) => {
    const label = cupNamed(first, options);
    const known = rulingNamed(ruling);
    const made = enter(label, options, context, (season, entering) =>
      overruleCup(season, label, known, wordsOf('why', options.why), entering),
    );
    say(options, made, `cup ${label} counts as ${known} from ${made.when}; both stand in the result`);
  });

  onCupEntry(cup, 'note [cup]', 'words on a cup, kept apart from the facts')
    .requiredOption('--text <words>', 'what to note')
    .action((first: string | undefined, options: EntryOptions & { text: string }) => {
      const label = cupNamed(first, options);
      const made = enter(label, options, context, (_season, entering) =>
        noteCup(label, wordsOf('text', options.text), entering),
      );
      say(options, made, `noted on cup ${label} at ${made.when}`);
    });

  defineCounting(cup, context);
  defineRecord(cup, context);
}

const withWhy = (command: Command, description: string): Command =>
  command.requiredOption('--why <words>', description);

const loadingOf = ({ strip, active, lot, colony, group }: LoadOptions): Loading => ({
  kind: strip ? 'strip' : 'no-strip',
  active,
  lot,
  colony,
  group,
});

/** The slot into which a cup came with what was recorded. */
const placeIn = ({ facts }: Made): SlotName | undefined =>
  facts.find((fact) => fact.type === 'cup-seated' || fact.type === 'cup-moved');

function seatText(made: Made): string {
  const place = placeIn(made);
  return place === undefined ? '' : `, seated in ${slotText(place)}`;
}

/** What nobody typed is read before the next cup is taken. */
function plannedText({ facts }: Made): string {
  const { visit, kind, colony, lot } = facts.find((fact) => fact.type === 'cup-loaded')!;
  const arm = kind === 'no-strip' ? 'no strip' : `lot ${lot ?? "the visit's"}`;
  return `visit ${visit}, colony ${colony ?? 'not told'}, ${arm}`;
}

function tellUnobserved(made: Made, { io }: Context): void {
  const place = placeIn(made);
  if (place !== undefined && probeIn(made.season.carriers.get(place.carrier), place.slot, made.at) === null)
    io.err(
      `slot ${slotText(place)} has no probe yet, so the cup is not observed; assign one with probe assign.`,
    );
}

/** Said instead of a slot: the cup is not seated yet, whatever its plan says. */
const NO_SLOT = 'none';

const seatedToo = (
  label: Parameters<typeof seatCup>[0],
  { slot }: SlotOptions,
  season: Season,
  entering: Entering,
): Fact[] =>
  slot === undefined || slot === NO_SLOT ? [] : seatCup(label, slotNamed(slot, season), entering);
