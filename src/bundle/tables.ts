import { RULINGS } from '../../shared/index.js';
import { type Fact, MEASUREMENTS } from '../store/facts.js';
import type { Column, Kind, Table } from './column.js';

/** Every table of a bundle. Words of people are in none of them: they are in `texts`, which is there only when asked for. */
type Options = Pick<Column, 'oneOf' | 'min' | 'prefix'>;
const must = (name: string, kind: Kind, what: string, options: Options = {}): Column => ({
  name,
  kind,
  what,
  required: true,
  ...options,
});
const may = (name: string, kind: Kind, what: string, options: Options = {}): Column => ({
  ...must(name, kind, what, options),
  required: false,
});

const cup = must('cup', 'id', "the cup's label");
const visit = must('visit', 'id', 'the visit it belongs to');
const yard = must('yard', 'id', "the yard's code");
const kind = must('kind', 'id', 'with a strip or without', { oneOf: ['strip', 'no-strip'] });
const arm = may('arm', 'text', 'active and lot together; cups of different arms are never pooled');
const colony = may('colony', 'text', 'the colony its bees came from');
const motherLine = may('mother_line', 'text', 'the mother line of the colony');
export const STORE_PREFIX = 'store-';
export const BOARD_PREFIX = 'board-';
const store = must('store', 'id', 'the store whose chain or readings it is from, after `store-`', {
  prefix: STORE_PREFIX,
});
const board = must('board', 'id', 'the board that read it, after `board-`', { prefix: BOARD_PREFIX });
const probe = must('probe', 'id', "the probe's ROM id");
const carrier = must('carrier', 'id', 'the name of the carrier, as that store calls it');
const ruleSet = must('rule_set', 'integer', 'which entry of rules.json judges it, counted from 1', {
  min: 1,
});
const slot = must('slot', 'integer', 'the slot in the carrier', { min: 1 });
const count = { min: 0 };
const ruling = (name: string, what: string) => may(name, 'id', what, { oneOf: RULINGS });
const figure = (name: string, what: string) => must(name, 'number', what, count);

export const VISITS: Table = {
  name: 'visits',
  what: 'One row a visit: when, what was tested, and by which rule set it is judged.',
  key: ['visit'],
  columns: [
    must('visit', 'id', "the visit's name"),
    yard,
    may('zone', 'id', "the yard's time zone (IANA); empty in a public bundle"),
    must('opened_utc', 'instant', 'when it was opened'),
    may('closed_utc', 'instant', 'when it was closed; empty while it is open'),
    may('active', 'text', 'the active under test'),
    may('lot', 'text', "the strip's lot"),
    may('piece', 'text', 'the size of a piece of strip'),
    may('declared_cups', 'integer', 'how many cups were planned at the opening', { min: 1 }),
    ruleSet,
  ],
};

export const CUPS: Table = {
  name: 'cups',
  what: 'One row a cup, in the order of visits and loads: what it was, and what was said of its ruling.',
  key: ['cup'],
  columns: [
    cup,
    visit,
    yard,
    kind,
    may('active', 'text', 'the active of its strip'),
    may('lot', 'text', 'the lot of its strip'),
    arm,
    colony,
    motherLine,
    may('spoiled_utc', 'instant', 'when the crew marked it as spoiled'),
    may('spoiled_after_counts', 'boolean', 'whether its mites had been counted by then'),
    may('replaced_by', 'id', 'the cup that was filled in its place'),
    ruling('recorded_ruling', 'the last ruling by rule that was put on record'),
    may('recorded_ruling_utc', 'instant', 'when it was put on record'),
    may('recorded_after_counts', 'boolean', 'whether mites had been counted by then'),
    ruling('overruled_to', 'what a person set the ruling to; the ruling by rule stays in rulings'),
    may('overruled_utc', 'instant', 'when that was'),
    may('overruled_after_counts', 'boolean', 'whether its mites had been counted by then'),
  ],
};

export const EXPOSURES: Table = {
  name: 'exposures',
  what: 'One row a cup that was turned or spoiled: what is ruled on.',
  key: ['cup'],
  columns: [
    cup,
    ruleSet,
    must('load_utc', 'instant', 'when bees met strip'),
    must('load_within_ms', 'integer', 'how far the true time may lie from that, either way', count),
    may('turn_utc', 'instant', 'when the exposure ended; empty for a cup that was spoiled before'),
    must('turn_within_ms', 'integer', 'how far the true time may lie from that, either way', count),
    must('end_utc', 'instant', 'where the ruling ends: the turn, or when it was spoiled'),
    must('is_spoiled', 'boolean', 'whether the crew marked it as spoiled'),
  ],
};

export const SEATINGS: Table = {
  name: 'seatings',
  what: 'One row a stretch of an exposure in one slot with one probe of one uncertainty.',
  key: ['cup', 'probe', 'from_utc'],
  columns: [
    cup,
    store,
    carrier,
    slot,
    probe,
    must('from_utc', 'instant', 'from when it sat there for sure'),
    must('to_utc', 'instant', 'until when it sat there for sure'),
    must('uncertainty_celsius', 'number', 'expanded uncertainty (k = 2) of this probe in this place', count),
  ],
};

export const COUNTS: Table = {
  name: 'counts',
  what: 'One row a cup: what was counted, and whether it counts. An empty count was not read; it is not 0.',
  key: ['cup'],
  columns: [
    yard,
    visit,
    cup,
    kind,
    arm,
    colony,
    motherLine,
    may('tray', 'integer', 'mites on the tray', count),
    may('wash', 'integer', 'mites of all washes together', count),
    may('washes', 'id', 'mites of each wash in order, with spaces between'),
    may('bees', 'integer', 'bees in the cup', count),
    may('bees_how', 'id', 'how they were numbered', { oneOf: ['counted', 'weighed', 'estimated'] }),
    may('bees_cv', 'number', 'coefficient of variation of that number', count),
    may('dead_bees', 'id', 'dead bees seen at the turn', { oneOf: ['none', 'some', 'most'] }),
    ruling('ruling', 'the ruling that counts: by rule, or what a person set it to; empty before the turn'),
  ],
};

/** The facts by which people change what is on record: a row of `corrections` each. */
export const CHANGES = [
  'count-corrected',
  'entry-corrected',
  'entry-withdrawn',
  'measurement-withdrawn',
  'cup-overruled',
  'cup-spoiled',
] as const satisfies readonly Fact['type'][];

export const CORRECTIONS: Table = {
  name: 'corrections',
  what: 'One row a correction, withdrawal or overrule. Who and why are references into texts, kept out of public bundles.',
  key: ['store', 'fact'],
  columns: [
    store,
    must('fact', 'integer', 'number of the fact in the chain of that store', { min: 1 }),
    may('cup', 'id', 'the cup it is about; empty for a measurement'),
    must('what', 'id', 'what was done', { oneOf: CHANGES }),
    may('of_store', 'id', 'the store in whose chain the changed entry stands', { prefix: STORE_PREFIX }),
    may('of_fact', 'integer', 'its number there', { min: 1 }),
    may('field', 'id', 'what of it was changed'),
    may('old', 'text', 'what stood there; an instant is RFC 3339'),
    may('new', 'text', 'what stands there now'),
    must('at_utc', 'instant', 'when it was changed'),
    must('recorded_utc', 'instant', 'when that was recorded'),
    may('who_ref', 'id', 'who did it: a reference into texts'),
    may('why_ref', 'id', 'why: a reference into texts'),
  ],
};

export const RULINGS_TABLE: Table = {
  name: 'rulings',
  what: 'One row an exposure: the ruling by rule and its figures, as judging the readings again gives them.',
  key: ['cup'],
  columns: [
    cup,
    must('ruling', 'id', 'the ruling', { oneOf: RULINGS }),
    may('reasons', 'text', 'the reasons, with " | " between; empty when valid'),
    figure('exposure_min', 'minutes from load to turn'),
    figure('observed_min', 'minutes that were observed; the rest is gap'),
    figure('cold_certain_min', 'minutes below the threshold, at least'),
    figure('cold_possible_min', 'minutes below the threshold, at most'),
    figure('cold_spell_certain_min', 'longest spell below the threshold, at least'),
    figure('cold_spell_possible_min', 'longest spell below the threshold, at most'),
    figure('hot_certain_min', 'minutes above the hot limit, at least'),
    figure('hot_possible_min', 'minutes above the hot limit, at most'),
    figure('hot_spell_certain_min', 'longest spell above the hot limit, at least'),
    figure('hot_spell_possible_min', 'longest spell above the hot limit, at most'),
    may('min_celsius', 'number', 'lowest reading in a seating'),
    may('max_celsius', 'number', 'highest reading in a seating'),
    may('mean_celsius', 'number', 'mean over observed time'),
    may('below_celsius_min', 'number', 'degree-minutes below the threshold, without uncertainty', count),
    must('gaps', 'integer', 'number of gaps', count),
    may('remarks', 'text', 'what never rules, with " | " between'),
  ],
};

export const PROBES: Table = {
  name: 'probes',
  what: 'One row a stretch of time that one of the probes used sat in a slot, by the word of a person.',
  key: ['probe', 'store', 'carrier', 'slot', 'from_utc'],
  columns: [
    probe,
    store,
    carrier,
    slot,
    must('from_utc', 'instant', 'since when'),
    may('to_utc', 'instant', 'until when; empty for the present'),
  ],
};

export const CALIBRATIONS: Table = {
  name: 'calibrations',
  what: 'One row a measurement of a probe or carrier used. It counts from its own time on.',
  key: ['store', 'fact', 'probe', 'slot'],
  columns: [
    store,
    must('fact', 'integer', 'number of its fact in the chain of that store', { min: 1 }),
    must('what', 'id', 'ice check, map of the places in a carrier, lag, or what a source told of a probe', {
      oneOf: [...MEASUREMENTS.filter((each) => each !== 'probe-assigned'), 'uncertainty-told'],
    }),
    may('probe', 'id', 'the probe'),
    may('carrier', 'id', 'the carrier of a map'),
    may('slot', 'integer', 'the place in the carrier', { min: 1 }),
    board,
    must('at_utc', 'instant', 'when it was made'),
    may('offset_celsius', 'number', 'what the probe reads too much, or this place more than the mean place'),
    may(
      'uncertainty_celsius',
      'number',
      'standard uncertainty of the probe, or of a place in the carrier',
      count,
    ),
    may('standard_deviation_celsius', 'number', 'of the readings that were used', count),
    may('readings', 'integer', 'how many readings were used', count),
    may('tau_s', 'number', 'time constant after a step, seconds', count),
    may('tau_low_s', 'number', 'lower end of its 95 % interval', count),
    may('tau_high_s', 'number', 'upper end of its 95 % interval', count),
    may('step_celsius', 'number', 'the step it was measured on'),
    may('withdrawn_utc', 'instant', 'when a person took it back; it counts as if it had never been'),
  ],
};

export const READINGS: Table = {
  name: 'readings',
  what: 'One row a reading of a probe used, for every whole hour that an exposure touches, by probe, then time; without those that nobody can place in time.',
  key: ['probe', 'time_utc', 'store', 'reading'],
  columns: [
    probe,
    must('time_utc', 'instant', 'when it was taken'),
    may(
      'celsius',
      'number',
      'its temperature less the offset known then, rounded to 0.0001; empty without a value',
    ),
    must('is_used', 'boolean', 'whether the ruling may use it: status ok and from -20 to 60 °C'),
    may('raw_sixteenths', 'integer', 'sixteenths of a degree as sent'),
    must('status', 'id', 'ok, or why it is no observation'),
    store,
    board,
    must('boot', 'integer', 'which of its boots', count),
    must('scan', 'integer', 'which scan of that boot', count),
    must('slot_index', 'integer', 'which place in the scan', count),
    must('board_ms', 'integer', "the board's counter then, milliseconds since its boot", count),
    must('reading', 'integer', 'its number in that store', { min: 1 }),
    may(
      'sealed',
      'integer',
      'the supplement of the sealed hour that proves it; empty while nothing proves it',
      count,
    ),
  ],
};

export const TEXTS: Table = {
  name: 'texts',
  what: 'Words and names of people, by the references that facts carry. Only there when asked for.',
  key: ['ref'],
  columns: [
    must('ref', 'id', 'SHA-256 over salt, line feed and text: what facts know of it'),
    must('salt', 'id', 'a random text'),
    must('text', 'text', 'the words'),
  ],
};

/** Those that every bundle has. */
export const TABLES: readonly Table[] = [
  VISITS,
  CUPS,
  EXPOSURES,
  SEATINGS,
  COUNTS,
  CORRECTIONS,
  RULINGS_TABLE,
  PROBES,
  CALIBRATIONS,
  READINGS,
];
