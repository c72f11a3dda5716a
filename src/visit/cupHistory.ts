import type { CupRuling } from '../exposure/types.js';
import type { Records } from '../store/store.js';
import type { CarrierId } from '../units/ids.js';
import { between, durationMs, formatInstant, inMinutes, minutes, type UtcMs } from '../units/time.js';
import { type CarrierNames, carrierNames } from './carrierNames.js';
import { type Change, type Cup, type CupEvent, type Entry, inOrder } from './cup.js';
import { A_NAME, A_REASON, keptWords } from './keptWords.js';
import type { Season } from './season.js';

/** Entered this long after it happened, an event was not written down as it happened (j). */
const LATE_AFTER = minutes(5);

const DID: Readonly<Record<CupEvent['type'], string>> = {
  'cup-loaded': 'loaded',
  'cup-seated': 'seated',
  'cup-moved': 'moved',
  'cup-lifted': 'lifted',
  'cup-turned': 'turned',
  'cup-spoiled': 'spoiled',
  'cup-counted': 'counted',
  'count-corrected': 'count corrected',
};

/** An entry in a few words. */
export function entryText({ fact }: Entry, names: CarrierNames): string {
  switch (fact.type) {
    case 'cup-seated':
      return `seated in ${names.slot(fact)}`;
    case 'cup-moved':
      return `moved to ${names.slot(fact)}`;
    case 'cup-counted':
      return `counted: ${readText(fact)}`;
    case 'count-corrected':
      return `count corrected: ${fact.field}${fact.washNumber === undefined ? '' : ` ${fact.washNumber}`} from ${fact.old} to ${fact.new}`;
    default:
      return DID[fact.type];
  }
}

/** What a count says, as far as it was read. */
function readText(fact: Extract<CupEvent, { type: 'cup-counted' }>): string {
  const { tray, wash, washAgain, bees, beesHow, dead } = fact;
  return [
    tray === null ? '' : `tray ${tray}`,
    wash === null ? '' : `wash ${wash}`,
    washAgain === undefined ? '' : `one more wash ${washAgain}`,
    bees === null ? '' : `bees ${bees}${beesHow && beesHow !== 'counted' ? ` (${beesHow})` : ''}`,
    dead === undefined ? '' : `dead bees ${dead}`,
  ]
    .filter((part) => part !== '')
    .join(', ');
}

/** Whether an event of the exposure was entered well after it happened. */
export const isLate = ({ fact, recorded }: Entry): boolean =>
  fact.type !== 'cup-counted' && fact.type !== 'count-corrected' && between(fact.at, recorded) > LATE_AFTER;

/**
 * What must be said beside a ruling: what was entered late or corrected, that it was another ruling before, or that a
 * person set it aside. None of it rules.
 *
 * @param instant how times are written
 */
export function historyOf(
  store: Records,
  season: Season,
  cup: Cup,
  { ruling }: CupRuling,
  instant: Instant = formatInstant,
): string[] {
  const { overruled, spoiled, dead } = cup;
  const last = cup.ruled.at(-1);
  const names = carrierNames(season);
  const remarks = [
    ...lateRemarks(store, cup, names, instant),
    ...cup.entries.flatMap((entry) => precisionRemark(entry, names, instant)),
    ...cup.changes.map((change) => changeRemark(store, change, names, instant)),
  ];
  if (dead === 'most') remarks.push('dead bees: most were dead when the cup was turned');
  if (last && last.ruling !== ruling)
    remarks.push(
      `changed: ruled ${last.ruling} at ${instant(last.at)}, before readings or facts came in late`,
    );
  if (spoiled?.replacedBy) remarks.push(`replaced by cup ${spoiled.replacedBy}`);
  if (spoiled?.afterCounts) remarks.push(`spoiled ${when(spoiled.at, true, instant)}`);
  if (overruled)
    remarks.push(
      `overruled: counts as ${overruled.ruling} by the word of ${nameIn(store, overruled.who, 'a person')} ${when(overruled.at, overruled.afterCounts, instant)}: ${keptWords(store, overruled.why, A_REASON)}`,
    );
  return remarks;
}

/** Writes an instant: in UTC, or by the clock of a place. */
export type Instant = (at: UtcMs) => string;

const when = (at: UtcMs, afterCounts: boolean, instant: Instant): string =>
  `at ${instant(at)}, ${afterCounts ? 'after' : 'before'} its mites were counted`;

/** A person's words on why a cup is spoiled; null when it is not. */
export const whySpoiled = (store: Records, { spoiled }: Cup): string | null =>
  spoiled === null ? null : keptWords(store, spoiled.why, A_REASON);

/** A name as far as it may be read; `otherwise` when none was given. */
const nameIn = (store: Records, who: string | null | undefined, otherwise: string): string =>
  who === null || who === undefined ? otherwise : keptWords(store, who, A_NAME);

/** One remark on all that was entered late, so that a visit written up in the evening stays readable. */
function lateRemarks(store: Records, cup: Cup, names: CarrierNames, instant: Instant): string[] {
  const late = inOrder(cup.entries.filter(isLate));
  if (late.length === 0) return [];
  const events = late.map((entry) => `${entryText(entry, names)} ${instant(entry.fact.at)}`).join(', ');
  const most = Math.max(...late.map(({ fact, recorded }) => between(fact.at, recorded)));
  const people = late.flatMap(({ fact }) => (fact.who === undefined ? [] : [nameIn(store, fact.who, '')]));
  const whys = late.flatMap(({ fact }) =>
    'late' in fact && fact.late !== undefined ? [keptWords(store, fact.late, A_REASON)] : [],
  );
  const by = people.length === 0 ? '' : ` by ${[...new Set(people)].join(', ')}`;
  const why = whys.length === 0 ? '' : `: ${[...new Set(whys)].join('; ')}`;
  return [
    `late entry: ${events}, entered up to ${Math.round(inMinutes(durationMs(most)))} min later${by}${why}`,
  ];
}

const precisionRemark = (entry: Entry, names: CarrierNames, instant: Instant): string[] =>
  'withinMs' in entry.fact && entry.fact.withinMs !== undefined
    ? [
        `${entryText(entry, names)} at ${instant(entry.fact.at)}, known to within ${spanText(entry.fact.withinMs)}`,
      ]
    : [];

const spanText = (ms: number): string =>
  ms % 60_000 === 0 ? `${ms / 60_000} min` : `${Math.round(ms / 1000)} s`;

function changeRemark(
  store: Records,
  { entry, field, old, new: now, why, who, at, afterCounts }: Change,
  names: CarrierNames,
  instant: Instant,
): string {
  const what =
    field === null
      ? `withdrawn: ${entryText(entry, names)} at ${instant(entry.fact.at)}`
      : `corrected: ${NAMED[field]} of "${entryText(entry, names)}" from ${valueText(field, old, names)} to ${valueText(field, now, names)}`;
  return `${what}, by ${nameIn(store, who, 'a person')} ${when(at, afterCounts, instant)}: ${keptWords(store, why, A_REASON)}`;
}

const NAMED: Readonly<Record<NonNullable<Change['field']>, string>> = {
  at: 'the time',
  withinMs: 'the precision',
  carrier: 'the carrier',
  slot: 'the slot',
  kind: 'the kind',
  active: 'the active',
  lot: 'the lot',
  colony: 'the colony',
  group: 'the mother line',
};

const valueText = (field: Change['field'], value: string | number | null, names: CarrierNames): string => {
  if (value === null) return field === 'withinMs' ? 'exact' : 'none';
  if (field === 'carrier') return names.carrier(String(value) as CarrierId);
  return field === 'withinMs' ? spanText(Number(value)) : String(value);
};
