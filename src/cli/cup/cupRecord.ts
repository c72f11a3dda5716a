import type { Command } from 'commander';
import { factName } from '../../store/chains.js';
import type { Store } from '../../store/store.js';
import type { CupLabel } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { formatInstant, inMinutes } from '../../units/time.js';
import { inZone } from '../../units/zone.js';
import { correctEntry, withdrawEntry } from '../../visit/actions.js';
import { carrierNames } from '../../visit/carrierNames.js';
import { isCount } from '../../visit/countWithdrawal.js';
import { type Cup, type Entry, inOrder, placeNow, slotText } from '../../visit/cup.js';
import { entryText, isLate } from '../../visit/cupHistory.js';
import { A_NAME, A_REASON, keptWords } from '../../visit/keptWords.js';
import { cupsOf, type Season } from '../../visit/season.js';
import { instantAt } from '../../visit/when.js';
import { type Context, onStore, reading, report, type StoreOptions, toJsonFact } from '../context.js';
import { textTable } from '../textTable.js';
import { visitOf } from '../visit.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { readWords } from './cupCounting.js';
import {
  carrierNamed,
  cupNamed,
  type EntryOptions,
  enter,
  onCupEntry,
  slotNamed,
  spanNamed,
  wordsOf,
  zoneOfCup,
} from './cupEntry.js';

interface CorrectOptions extends EntryOptions {
  readonly entry: string;
  readonly time?: string;
  readonly precision?: string;
  readonly slot?: string;
  readonly kind?: string;
  readonly active?: string;
  readonly lot?: string;
  readonly colony?: string;
  readonly group?: string;
  readonly why: string;
}

/** The options that say what is right. */
const RIGHT = ['time', 'precision', 'slot', 'kind', 'active', 'lot', 'colony', 'group'] as const;

/** `cup list`, `cup show`, `cup correct` and `cup withdraw`: what is on record of cups, and correcting it. */
export function defineRecord(cup: Command, context: Context): void {
  onStore(cup.command('list'))
    .description('cups with where they are; one row a cup')
    .option('--visit <visit>', 'only those of one visit')
    .action((options: StoreOptions & { visit?: string }) =>
      reading(options.store, (_store, season) => {
        const cups =
          options.visit === undefined
            ? [...season.cups.values()]
            : cupsOf(season, visitOf(season, options.visit).visit);
        if (options.json) context.io.out(JSON.stringify({ cups: cups.map(toJson) }));
        else if (cups.length === 0) context.io.out('no cups yet');
        else for (const line of textTable(cups.map((each) => row(season, each)))) context.io.out(line);
      }),
    );

  onStore(cup.command('show [cup]'))
    .description('everything on record of one cup, with the numbers of its entries')
    .option('--cup <label>', 'the cup, when it is not the first word')
    .action((first: string | undefined, options: EntryOptions) =>
      reading(options.store, (store, season) => {
        const known = cupIn(season, cupNamed(first, options));
        if (options.json)
          context.io.out(
            JSON.stringify({
              ...toJson(known),
              entries: known.entries.map(({ seq, recorded, fact }) => ({
                entry: seq,
                recorded: formatInstant(recorded),
                ...toJsonFact(fact),
              })),
            }),
          );
        else for (const line of shown(store, season, known)) context.io.out(line);
      }),
    );

  onCupEntry(
    cup,
    'correct [cup]',
    'correct an entry that was written down wrongly; the old one stays on record',
  )
    .requiredOption('--entry <number>', 'which entry, as cup show numbers them')
    .requiredOption('--why <words>', 'why it was wrong')
    .option('--time <time>', 'the right time, HH:MM of the same day or RFC 3339')
    .option('--precision <span>', 'how far the true time may lie off, as 90s or 2m; 0s for exact')
    .option('--slot <slot>', 'the right slot')
    .option('--kind <kind>', 'strip or no-strip')
    .option('--active <words>', 'the right active; empty for none, here and below')
    .option('--lot <words>', 'the right lot')
    .option('--colony <name>', 'the right colony')
    .option('--group <name>', 'the right mother line')
    .action((first: string | undefined, options: CorrectOptions) => {
      const label = cupNamed(first, options);
      if (RIGHT.every((each) => options[each] === undefined))
        throw new WrongCommandLine(
          `Say what is right: give at least one of ${RIGHT.map((each) => `--${each}`).join(', ')}.`,
        );
      const made = enter(label, options, context, (season, entering) => {
        const known = cupIn(season, label);
        const entry = entryOf(known, options.entry);
        const changes = changesIn(options, season, label, entry);
        return correctEntry(known, entry, changes, wordsOf('why', options.why), entering);
      });
      const entry = entryOf(made.season.cups.get(label)!, options.entry);
      report(
        context.io,
        options.json,
        made.facts,
        `cup ${label}, entry ${factName(entry.seq)}: now ${entryText(entry, carrierNames(made.season))} at ${inZone(entry.fact.at, made.zone)}`,
      );
    });

  onCupEntry(
    cup,
    'withdraw [cup]',
    'withdraw an entry that did not happen, or a count of another cup; it stays on record as withdrawn',
  )
    .requiredOption('--entry <number>', 'which entry, as cup show numbers them')
    .requiredOption('--why <words>', 'why it is withdrawn')
    .action((first: string | undefined, options: CorrectOptions) => {
      const label = cupNamed(first, options);
      const made = enter(label, options, context, (season, entering) => {
        const known = cupIn(season, label);
        return withdrawEntry(known, entryOf(known, options.entry), wordsOf('why', options.why), entering);
      });
      const known = made.season.cups.get(label)!;
      const gone = known.changes.slice(-made.facts.length).map(({ entry }) => entry);
      const others = gone
        .slice(0, -1)
        .map(({ seq }) => `, with it entry ${factName(seq)}, which corrected it`);
      const left = gone.some(isCount) ? `; ${readWords(known)}` : '';
      report(
        context.io,
        options.json,
        made.facts,
        `cup ${label}: entry ${options.entry} is withdrawn${others.join('')}${left}`,
      );
    });
}

function cupIn(season: Season, label: CupLabel): Cup {
  const cup = season.cups.get(label);
  if (!cup) throw new Refusal(`There is no cup ${label}; load it first, or check the label.`);
  return cup;
}

function entryOf(cup: Cup, text: string): Entry {
  // Its JSON has the plain number.
  const entry = cup.entries.find(({ seq }) => factName(seq) === text || String(seq) === text);
  if (!entry)
    throw new Refusal(
      `Cup ${cup.cup} has no entry ${text}; it has ${cup.entries.map(({ seq }) => factName(seq)).join(', ')} (cup show ${cup.cup}).`,
    );
  return entry;
}

function changesIn(options: CorrectOptions, season: Season, label: CupLabel, { fact }: Entry) {
  const { time, precision, slot, kind, active, lot, colony, group } = options;
  const within = precision === undefined ? undefined : spanNamed('precision', precision);
  const place = slot === undefined ? undefined : slotNamed(slot, season);
  const text = (value: string) => (value === '' ? null : value);
  return {
    // HH:MM is meant for the day of the entry, not for the day on which the slip is noticed.
    ...(time === undefined
      ? {}
      : { at: formatInstant(instantAt(time, zoneOfCup(season, label), fact.at, '--time')) }),
    ...(within === undefined ? {} : { withinMs: within === 0 ? null : within }),
    ...(place === undefined ? {} : { carrier: carrierNamed(place.carrier), slot: place.slot }),
    ...(kind === undefined ? {} : { kind }),
    ...Object.fromEntries(
      Object.entries({ active, lot, colony, group }).flatMap(([field, value]) =>
        value === undefined ? [] : [[field, text(value)]],
      ),
    ),
  };
}

const toJson = (cup: Cup) => {
  const place = placeNow(cup);
  return {
    cup: cup.cup,
    visit: cup.visit,
    kind: cup.kind,
    active: cup.active,
    lot: cup.lot,
    colony: cup.colony,
    group: cup.group,
    load: formatInstant(cup.load),
    turn: cup.turn === null ? null : formatInstant(cup.turn),
    slot: place ? slotText(place) : null,
    isSpoiled: cup.spoiled !== null,
    replacedBy: cup.spoiled?.replacedBy ?? null,
    ...cup.counts,
    washes: cup.washes,
    beesHow: cup.bees?.how ?? null,
    beesCv: cup.bees?.cv ?? null,
    dead: cup.dead,
  };
};

function stateWords(season: Season, cup: Cup): string {
  const place = placeNow(cup);
  if (cup.spoiled?.replacedBy) return `replaced by ${cup.spoiled.replacedBy}`;
  if (cup.spoiled) return 'spoiled';
  if (cup.turn !== null) {
    const missing = (['tray', 'wash', 'bees'] as const).filter((field) => cup.counts[field] === null);
    return missing.length === 0 ? 'turned, counted' : `turned, not read: ${missing.join(', ')}`;
  }
  return place ? `in ${carrierNames(season).slot(place)}` : 'in no slot';
}

const row = (season: Season, cup: Cup): string[] => [
  cup.cup,
  `visit ${cup.visit}`,
  cup.colony === null ? 'no colony given' : `colony ${cup.colony}`,
  cup.kind === 'strip' ? 'strip' : 'without strip',
  `loaded ${inZone(cup.load, zoneOfCup(season, cup.cup))}`,
  stateWords(season, cup),
];

/** A cup's record for people: what it is, its entries in order of time, its notes. No ruling: whoever counts is blind to it. */
function shown(store: Store, season: Season, cup: Cup): string[] {
  const zone = zoneOfCup(season, cup.cup);
  const names = carrierNames(season);
  const entries = inOrder(cup.entries).map((entry) => [
    factName(entry.seq),
    inZone(entry.fact.at, zone),
    entryText(entry, names),
    [
      'withinMs' in entry.fact && entry.fact.withinMs !== undefined
        ? `within ${inMinutes(entry.fact.withinMs as never)} min`
        : '',
      isLate(entry) ? `entered ${inZone(entry.recorded, zone)}` : '',
      'who' in entry.fact && entry.fact.who !== undefined
        ? `by ${keptWords(store, entry.fact.who, A_NAME)}`
        : '',
    ]
      .filter((part) => part !== '')
      .join(', '),
  ]);
  return [
    ...textTable([row(season, cup)]),
    ...textTable([['entry', 'at', 'what', ''], ...entries]),
    ...cup.changes.map(({ entry, field, why }) => {
      const what = field === null ? `withdrawn (${entryText(entry, names)})` : 'corrected';
      return `entry ${factName(entry.seq)} ${what}: ${keptWords(store, why, A_REASON)}`;
    }),
    ...cup.notes.map(({ text, at }) => `note of ${inZone(at, zone)}: ${keptWords(store, text, '')}`),
  ];
}
