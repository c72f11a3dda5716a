import type { Clash, Day, DayQuestion, PlannedSlot, Step } from '../../plan/day.js';
import { whatFits } from '../../plan/whatFits.js';
import type { CupLabel } from '../../units/ids.js';
import { inMinutes, type UtcMs } from '../../units/time.js';
import { dayIn, inZone, timeIn } from '../../units/zone.js';
import { cupsInWords } from '../cupsInWords.js';
import { textTable } from '../textTable.js';
import { wrapped } from '../wrapped.js';

/** What is told beside the day itself. */
export interface Telling {
  /** YYYY-MM-DD. */
  readonly day: string;
  readonly zone: string;
  /** In the order of the day's cups; null when none were made. */
  readonly labels: readonly CupLabel[] | null;
}

/** Time of day in the yard's zone, with the day when it is not that of the plan. */
const onThatDay =
  ({ day, zone }: Pick<Telling, 'day' | 'zone'>) =>
  (at: UtcMs): string =>
    dayIn(at, zone) === day ? timeIn(at, zone) : `${timeIn(at, zone)} on ${dayIn(at, zone)}`;

/** The day for people, at most 80 columns wide where names are not too long. */
export function dayInWords(day: Day, question: DayQuestion, telling: Telling): string {
  const { rules, start, until, slots } = question;
  const clock = (at: UtcMs) => timeIn(at, telling.zone);
  const sentences = clashSentences(day, question, telling);
  const offsetAt = (at: UtcMs) => inZone(at, telling.zone).slice('YYYY-MM-DDTHH:MM:SS'.length);
  return [
    ...[
      `Day ${telling.day} in ${telling.zone}, from ${clock(start)}, last turn by ${onThatDay(telling)(until)}`,
      `Turn ${rules.exposureMinutesMin} to ${rules.exposureMinutesMax} min after the load, due at ${rules.exposureMinutes} (rule set ${rules.name} ${rules.version})`,
      `${slots.length} ${slots.length === 1 ? 'slot' : 'slots'}: ${slotsInWords(slots)}; ${told(question.takeCup)} min to take a cup, ${told(question.turnCup)} to turn one and read its tray`,
      ...(offsetAt(start) === offsetAt(day.end)
        ? []
        : ['The clocks are changed meanwhile: add no minutes to these times by head.']),
    ].map((text) => wrapped(text)),
    '',
    ...textTable(
      day.steps.map((step) => [`${clock(step.from)}-${clock(step.to)}`, stepInWords(step, day)]),
    ).map((text) => wrapped(text)),
    '',
    ...(sentences.length === 0 ? ['Nothing clashes.'] : sentences.map((text) => wrapped(text))),
    'For the crew, never for the driver: turn and read only where the vehicle stands.',
    ...question.yards.flatMap((yard) => [
      '',
      `Yard ${yard.yard}, visit ${yard.visit}`,
      ...textTable([
        [
          '',
          ...(telling.labels === null ? [] : ['label']),
          'colony',
          'slot',
          'load',
          'turn between',
          'turn at',
        ],
        ...day.cups.flatMap((cup, index) =>
          cup.yard === yard
            ? [
                [
                  String(cup.number),
                  ...(telling.labels === null ? [] : [telling.labels[index]!]),
                  `${cup.cup.colony ?? '-'}${cup.cup.kind === 'strip' ? '' : ' (no strip)'}`,
                  slotText(cup.slot),
                  clock(cup.load),
                  `${clock(cup.from)}-${clock(cup.to)}`,
                  clock(cup.turn),
                ],
              ]
            : [],
        ),
      ]).map((text) => wrapped(`  ${text}`)),
    ]),
  ].join('\n');
}

const told = (length: number): string => String(Number((length / 60_000).toFixed(1)));
const slotText = ({ carrier, slot }: PlannedSlot): string => `${carrier}:${slot}`;

/** `A:1-A:10, B:2`. */
function slotsInWords(slots: readonly PlannedSlot[]): string {
  const runs: PlannedSlot[][] = [];
  for (const slot of slots) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run !== undefined && last?.carrier === slot.carrier && last.slot + 1 === slot.slot) run.push(slot);
    else runs.push([slot]);
  }
  return runs
    .map((run) => (run.length === 1 ? slotText(run[0]!) : `${slotText(run[0]!)}-${slotText(run.at(-1)!)}`))
    .join(', ');
}

function stepInWords({ does, yard, place, cups }: Step, day: Day): string {
  switch (does) {
    case 'load':
      return `load ${cupsInWords(cups)} at ${yard.yard}`;
    case 'drive':
      return `drive to ${yard.yard}`;
    case 'turn':
      return `turn ${cupsInWords(cups)} of ${yard.yard}${place.isOnTheWay ? `: a stop on the way to ${place.yard.yard}` : ''}`;
    case 'wait':
      return place.isOnTheWay
        ? `stop on the way to ${place.yard.yard}`
        : day.cups.some(({ yard: other }) => other === place.yard)
          ? 'nothing to do at the cups'
          : `wait at ${place.yard.yard}`;
  }
}

/** What does not go together, a sentence each, and what would. */
export function clashSentences(
  day: Day,
  question: DayQuestion,
  telling: Pick<Telling, 'day' | 'zone'>,
): string[] {
  const clock = onThatDay(telling);
  const sentences = day.clashes.map((clash) => clashInWords(clash, question, clock));
  return day.fits ? sentences : [...sentences, wayOut(question, clock)];
}

function clashInWords(
  clash: Clash,
  { slots, until, takeCup, turnCup }: DayQuestion,
  clock: (at: UtcMs) => string,
): string {
  switch (clash.about) {
    case 'turned-while-loading':
      return `Clash: ${cupsInWords(clash.cups)} of ${clash.turned.yard} ${clash.cups === 1 ? 'is' : 'are'} due while ${clash.at.yard} is loaded, ${clock(clash.from)} to ${clock(clash.to)}; the plan stops loading for them.`;
    case 'turned-on-the-way':
      return `Clash: ${cupsInWords(clash.cups)} of ${clash.turned.yard} ${clash.cups === 1 ? 'is' : 'are'} due on the way to ${clash.at.yard}; the plan stops for them, ${clock(clash.from)} to ${clock(clash.to)}: nobody turns or reads while driving.`;
    case 'slots':
      return clash.cups > slots.length
        ? `Clash: ${cupsInWords(clash.cups)} at ${clash.at.yard}, and ${slots.length} slots in all.`
        : `Clash: ${cupsInWords(clash.cups)} at ${clash.at.yard} and ${clash.free} free slots at ${clock(clash.from)}; the plan waits for slots until ${clock(clash.to)}.`;
    case 'window':
      return `Clash: nobody can turn ${cupsInWords(clash.cups)} of ${clash.turned.yard} in time, up to ${Math.ceil(inMinutes(clash.lateBy))} min late: ${turnCup > takeCup ? 'turning one takes longer than taking one' : 'too many are due at once'}.`;
    case 'too-long':
      return `Too many yards for the day: the last cup is turned at ${clock(clash.end)}, not by ${clock(until)}.`;
  }
}

function wayOut(question: DayQuestion, clock: (at: UtcMs) => string): string {
  const { yards, yardsEnd, cupsAYard } = whatFits(question);
  const names = question.yards.slice(0, yards).map(({ yard }) => yard);
  const ways = [
    ...(yardsEnd === null ? [] : [`${names.join(', ')} alone, until ${clock(yardsEnd)}`]),
    ...(cupsAYard === null ? [] : [`at most ${cupsInWords(cupsAYard)} in each yard`]),
  ];
  return ways.length === 0
    ? 'Nothing of it fits with these times; begin earlier, end later, or take another carrier.'
    : `What fits: ${ways.join('; or ')}.`;
}
