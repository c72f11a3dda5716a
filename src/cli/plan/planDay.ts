import { type Command, Option } from 'commander';
import { Temporal } from 'temporal-polyfill';
import { newFile } from '../../export/newFile.js';
import { DEFAULT_RULES } from '../../exposure/ruleSet.js';
import { type Day, type DayQuestion, type PlannedSlot, type PlannedYard, planDay } from '../../plan/day.js';
import { CODE_BYTES, planCode, planLabels, readyCups } from '../../plan/planned.js';
import { SLOT_MAX } from '../../store/factFields.js';
import { unguessableBytes } from '../../units/clock.js';
import { type CupLabel, LABEL_RULE, parseCarrierId, parseVisitId, parseYardCode } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { durationMs, later, MS_PER_MINUTE, minutes, type UtcMs, utcMs } from '../../units/time.js';
import { dayIn, inZone, localZone } from '../../units/zone.js';
import { prewarmAdvice, prewarmingOf } from '../../visit/prewarming.js';
import type { Season } from '../../visit/season.js';
import { probeIn } from '../../visit/slots.js';
import { checkedZone, instantAt } from '../../visit/when.js';
import { CheckFailed } from '../checkFailed.js';
import { type Context, onStore, type StoreOptions, seasonIfAny, several, typed } from '../context.js';
import { CUPS_A_YARD_MAX, MINUTES_MAX, readPlanCsv, type WrittenYard, YARDS_MAX } from '../csv/planCsv.js';
import { readyCsv } from '../csv/readyCsv.js';
import { readRules } from '../judging/judge.js';
import { wholeIn } from '../wholeIn.js';
import { wrapped } from '../wrapped.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { dayToJson } from './dayInJson.js';
import { dayInWords } from './dayInWords.js';

interface DayOptions extends StoreOptions {
  readonly yard?: string[];
  readonly carrier?: string[];
  readonly date?: string;
  readonly zone?: string;
  readonly start: string;
  readonly until: string;
  readonly minutesACup: string;
  readonly minutesATurn: string;
  readonly drive?: string;
  readonly active?: string;
  readonly lot?: string;
  readonly rules?: string;
  readonly out?: string;
}

const CUPS_DEFAULT = 10;

/** `plan day`: when each cup is loaded and turned, and what clashes. */
export function defineDay(plan: Command, context: Context): void {
  onStore(plan.command('day [file]'))
    .description(
      'when each cup is loaded and turned, and what clashes; the plan is a CSV file, or given with --yard',
    )
    .addOption(
      new Option(
        '--yard <code[=cups]>',
        `a yard and its cups, in order, several times (default: ${CUPS_DEFAULT} cups)`,
      ).argParser(several),
    )
    .addOption(
      new Option(
        '--carrier <name=slots>',
        "a carrier and its slots, as A=10 or A=1-6,8, several times (default: the store's slots with a probe)",
      ).argParser(several),
    )
    .option('--date <day>', 'YYYY-MM-DD (default: tomorrow)')
    .option('--zone <zone>', "the yards' time zone, an IANA name (default: this computer's)")
    .option('--start <time>', 'when the first cup of the first yard is begun, HH:MM', '07:00')
    .option('--until <time>', 'when the last cup is to be turned, HH:MM', '18:00')
    .option('--minutes-a-cup <number>', 'to take a cup', '3')
    .option('--minutes-a-turn <number>', 'to turn a cup and read its tray', '2')
    .option('--drive <minutes>', 'between yards, with packing, where the file does not say')
    .option('--active <words>', 'the active, where the file does not say')
    .option('--lot <words>', "the strip's lot, where the file does not say")
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option('--out <file>', 'also write the plan with labels, for sheets, labels and commands; a new file')
    .action((file: string | undefined, options: DayOptions) => showDay(file, options, context));
}

async function showDay(file: string | undefined, options: DayOptions, context: Context): Promise<void> {
  const { io, clock } = context;
  const zone = checkedZone(options.zone ?? localZone());
  const day = dayNamed(options.date, zone, clock.utc());
  const at = (text: string, what: string) => instantAt(text, zone, noonOf(day, zone), what);
  const rules = options.rules === undefined ? DEFAULT_RULES : await readRules(options.rules);
  const season = seasonIfAny(options.store);
  const written = await writtenYards(file, options);
  const question: DayQuestion = {
    yards: written.map((yard, index) => plannedYard(yard, index, day, options, at, written)),
    slots: slotsOf(options, season, clock.utc()),
    start: at(options.start, '--start'),
    until: at(options.until, '--until'),
    takeCup: minutesIn('minutes-a-cup', options.minutesACup),
    turnCup: minutesIn('minutes-a-turn', options.minutesATurn),
    rules,
  };
  refuseTimes(question, day, zone, options);
  refuseSharedVisits(question.yards, file);
  const found = planDay(question);
  const labels = options.out !== undefined && found.fits ? newLabels(day, found, season) : null;
  if (options.out !== undefined && labels !== null) {
    const ready = readyCups(found, labels, { zone, rules: `${rules.name} ${rules.version}` });
    await newFile(options.out, process.pid, (write) => write(Buffer.from(readyCsv(ready))));
    io.err(`written: ${options.out}`);
  }
  const telling = { day, zone, labels };
  io.out(
    options.json ? JSON.stringify(dayToJson(found, question, telling)) : dayInWords(found, question, telling),
  );
  for (const advice of prewarmAdvice(prewarmingOf(season, clock.utc()))) io.err(wrapped(advice));
  if (!found.fits)
    throw new CheckFailed(
      `This day cannot be kept as it is planned${options.out === undefined ? '' : `; ${options.out} was not written`}.`,
    );
}

function refuseTimes({ start, until }: DayQuestion, day: string, zone: string, options: DayOptions): void {
  if (dayIn(start, zone) !== day)
    throw new Refusal(
      `--start ${options.start} is on ${dayIn(start, zone)} in ${zone}, and the plan is for ${day}; give its day with --date.`,
    );
  if (until <= start)
    throw new Refusal(
      `--until ${options.until} is not after --start ${options.start}; give a later time, and one after midnight with its day, as ${inZone(later(start, minutes(12 * 60)), zone)}.`,
    );
}

/** A visit is to one yard: else the second yard's could not be opened. */
function refuseSharedVisits(yards: readonly PlannedYard[], file: string | undefined): void {
  for (const [index, { visit, yard }] of yards.entries()) {
    const other = yards.slice(0, index).find((each) => each.visit === visit);
    if (other !== undefined)
      throw new Refusal(
        `${file === undefined ? '' : `${file}, column visit: `}yards ${other.yard} and ${yard} would both be visit ${visit}; a visit is to one yard, so name another.`,
      );
  }
}

/** What the file says, or the options of the simple case. */
async function writtenYards(
  file: string | undefined,
  { yard, active, lot }: DayOptions,
): Promise<WrittenYard[]> {
  if (file !== undefined && yard !== undefined)
    throw new WrongCommandLine('A file and --yard both say which yards; give one.');
  if (file === undefined && yard === undefined)
    throw new WrongCommandLine('Say which yards: a CSV file, or --yard CODE=CUPS for each.');
  const yards = file === undefined ? yard!.map(yardGiven) : await readPlanCsv(file);
  if (yards.length === 0) throw new Refusal(`${file}: there is no yard in this plan; write a row for each.`);
  const double = yards.find(({ yard: code }, index) => yards.findIndex((each) => each.yard === code) < index);
  if (double !== undefined)
    throw new Refusal(`Yard ${double.yard} is given twice; say all its cups at once.`);
  return yards.map((each) => ({
    ...each,
    cups: each.cups.map((cup) =>
      cup.kind === 'strip'
        ? { ...cup, active: cup.active ?? active ?? null, lot: cup.lot ?? lot ?? null }
        : cup,
    ),
  }));
}

function yardGiven(text: string): WrittenYard {
  const [code = '', cups = String(CUPS_DEFAULT), ...rest] = text.split('=');
  if (rest.length > 0)
    throw new Refusal(`--yard ${text} will not do; write a code and its cups, as alder-07=10.`);
  const cup = { kind: 'strip', colony: null, group: null, active: null, lot: null } as const;
  return {
    yard: typed(parseYardCode, 'yard code', code),
    visit: null,
    cups: Array.from({ length: wholeIn('yard', cups, 1, CUPS_A_YARD_MAX) }, () => cup),
    arrive: null,
    driveMinutes: null,
  };
}

function plannedYard(
  { yard, visit, cups, arrive, driveMinutes }: WrittenYard,
  index: number,
  day: string,
  { drive }: DayOptions,
  at: (text: string, what: string) => UtcMs,
  all: readonly WrittenYard[],
): PlannedYard {
  if (all.length > YARDS_MAX)
    throw new Refusal(`There are ${all.length} yards; a day has at most ${YARDS_MAX}.`);
  const given = drive === undefined ? null : wholeIn('drive', drive, 0, MINUTES_MAX);
  const minutes = index === 0 ? 0 : (driveMinutes ?? given);
  if (minutes === null)
    throw new Refusal(
      `How long is the drive to ${yard}? Write its minutes in the column drive, or give --drive.`,
    );
  const named = parseVisitId(`${day.slice(2).replaceAll('-', '')}-${yard}`);
  if (visit === null && named === null)
    throw new Refusal(
      `Yard ${yard} is too long for the name of a visit with its day; write one in the column visit.`,
    );
  return {
    visit: visit ?? named!,
    ...{ yard, cups },
    notBefore: arrive === null ? null : at(arrive, 'arrive'),
    drive: durationMs(minutes * MS_PER_MINUTE),
  };
}

/** The slots of the carriers that were given, or those of the store that have a probe. */
function slotsOf({ carrier, store }: DayOptions, season: Season, now: UtcMs): PlannedSlot[] {
  if (carrier !== undefined) {
    const slots = carrier.flatMap(slotsGiven);
    const double = slots.find(
      (slot, index) =>
        slots.findIndex((each) => each.carrier === slot.carrier && each.slot === slot.slot) < index,
    );
    if (double !== undefined)
      throw new Refusal(`Slot ${double.carrier}:${double.slot} is given twice; name each slot once.`);
    return slots;
  }
  const known = [...season.carriers.values()]
    .sort((a, b) => (a.carrier < b.carrier ? -1 : 1))
    .flatMap((each) =>
      [...each.slots.keys()]
        .sort((a, b) => a - b)
        .filter((slot) => probeIn(each, slot, now) !== null)
        .map((slot): PlannedSlot => ({ carrier: each.carrier, slot })),
    );
  if (known.length === 0)
    throw new Refusal(`${store} knows no slot with a probe; say which slots there are, as --carrier A=10.`);
  return known;
}

function slotsGiven(text: string): PlannedSlot[] {
  const refuse = () =>
    new Refusal(
      `--carrier ${text} will not do; write its name and its slots from 1 to ${SLOT_MAX}, as A=10 or A=1-6,8 (a name is ${LABEL_RULE}).`,
    );
  const [name = '', list = '', ...rest] = text.split('=');
  const carrier = parseCarrierId(name);
  if (carrier === null || rest.length > 0) throw refuse();
  return (/^\d+$/.test(list) ? `1-${list}` : list).split(',').flatMap((part) => {
    const [, first, last = first] = /^(\d{1,2})(?:-(\d{1,2}))?$/.exec(part) ?? [];
    const [from, to] = [Number(first), Number(last)];
    if (first === undefined || from < 1 || to > SLOT_MAX || from > to) throw refuse();
    return Array.from(
      { length: to - from + 1 },
      (_, index): PlannedSlot => ({ carrier, slot: from + index }),
    );
  });
}

function minutesIn(option: string, text: string) {
  if (!/^\d{1,3}(\.\d)?$/.test(text) || Number(text) <= 0 || Number(text) > 120)
    throw new Refusal(`--${option} ${text} will not do; write minutes above 0 and up to 120, as 3 or 2.5.`);
  return durationMs(Number(text) * MS_PER_MINUTE);
}

function dayNamed(text: string | undefined, zone: string, now: UtcMs): string {
  const today = Temporal.Instant.fromEpochMilliseconds(now).toZonedDateTimeISO(zone).toPlainDate();
  if (text === undefined) return today.add({ days: 1 }).toString();
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text))
    throw new Refusal(`--date ${text} is not a day; write it as 2026-05-13.`);
  try {
    return Temporal.PlainDate.from(text, { overflow: 'reject' }).toString();
  } catch {
    throw new Refusal(`--date ${text} is not in the calendar; write a day as 2026-05-13.`);
  }
}

/** An instant of that day in the zone; noon is there on every day. */
const noonOf = (day: string, zone: string): UtcMs =>
  utcMs(Temporal.PlainDateTime.from(`${day}T12:00`).toZonedDateTime(zone).epochMilliseconds);

/** Labels that no cup of the store has; chance has never given one twice. */
function newLabels(day: string, { cups }: Day, season: Season): CupLabel[] {
  for (;;) {
    const labels = planLabels(day, planCode(unguessableBytes(CODE_BYTES)), cups.length);
    if (!labels.some((label) => season.cups.has(label))) return labels;
  }
}
