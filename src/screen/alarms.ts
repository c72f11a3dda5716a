import type { Alarm } from '../exposure/live.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { type Line, type Span, span, type Tone, widthOf, wrapped } from './line.js';
import type { LoggerSign } from './loggerSign.js';

/** An alarm as the crew reads it. */
export interface AlarmRow {
  /** What tells it from others: another thing to do, or another cup, is another alarm. */
  readonly id: string;
  readonly level: Alarm['level'];
  /** Carrier and slot, empty when the cup is in none. */
  readonly place: string;
  /** Empty when it is about no cup. */
  readonly cup: string;
  readonly yard: string;
  readonly text: string;
}

const NO_PROBE: Alarm = {
  level: 'act-now',
  kind: 'no-probe',
  text: 'no probe in this slot: move the cup to another',
};

/** All alarms: act-now first, then due, the most pressing first in each. A silent logger comes before all. */
export function alarmRows(
  slots: readonly SlotView[],
  unseated: readonly CupView[],
  logger: LoggerSign,
): AlarmRow[] {
  const found = [
    ...slots.flatMap((view) => (view.cup === null ? [] : alarmOf(view.cup, view))),
    ...unseated.flatMap((view) => alarmOf(view, null)),
  ];
  const cups = found.sort((a, b) => a.order - b.order || a.pressing - b.pressing).map(({ row }) => row);
  if (!logger.silent) return cups;
  const text = `${logger.words}: start it again`;
  return [{ id: 'silent logger', level: 'act-now', place: '', cup: '', yard: '', text }, ...cups];
}

function alarmOf({ cup, visit, state }: CupView, slot: SlotView | null) {
  if (cup.spoiled !== null) return [];
  const unseen = slot !== null && slot.rom === null && state.alarm?.level !== 'due';
  const alarm = unseen && state.ruledAlready === null ? NO_PROBE : state.alarm;
  if (alarm === null) return [];
  const { level, kind, text } = alarm;
  const place = slot === null ? '' : `${slot.carrier}:${slot.slot}`;
  const row: AlarmRow = { id: `${kind} ${cup.cup}`, level, place, cup: cup.cup, yard: visit.yard, text };
  return level === 'act-now'
    ? [{ row, order: 0, pressing: state.coldMinutesLeft }]
    : [{ row, order: 1, pressing: state.minutesToLong }];
}

const LEVEL: Readonly<Record<AlarmRow['level'], { word: string; tone: Tone }>> = {
  'act-now': { word: 'ACT NOW', tone: 'alarm' },
  due: { word: 'DUE', tone: 'watch' },
};
/** In place of the level once a person has said that he knows. */
const SEEN = { word: 'seen', tone: 'quiet' } as const;
const LEVEL_WIDTH = 'ACT NOW'.length;

/**
 * The alarms in at most `room` lines; those that nobody has acknowledged first. An alarm that is longer than a line
 * goes on in the next. What finds no room is counted.
 */
export function alarmLines(
  alarms: readonly AlarmRow[],
  acknowledged: ReadonlySet<string>,
  width: number,
  room: number,
): Line[] {
  const isSeen = ({ id }: AlarmRow) => acknowledged.has(id);
  const sorted = [...alarms.filter((alarm) => !isSeen(alarm)), ...alarms.filter(isSeen)];
  const cells = sorted.map((alarm) => alarmCell(alarm, isSeen(alarm), width));
  const lines: Line[] = [];
  for (const [index, cell] of cells.entries()) {
    const isLast = index === cells.length - 1;
    // Another line stays free to tell how many more there are.
    if (lines.length + cell.length > room - (isLast ? 0 : 1)) {
      const more = cells.length - index;
      if (lines.length < room) lines.push([span(`and ${more} more alarm${more === 1 ? '' : 's'}`, 'watch')]);
      break;
    }
    lines.push(...cell);
  }
  return lines;
}

function alarmCell({ level, place, cup, yard, text }: AlarmRow, isSeen: boolean, width: number): Line[] {
  const { word, tone } = isSeen ? SEEN : LEVEL[level];
  const lead: Span[] = [span(word.padEnd(LEVEL_WIDTH), tone), span(' ')];
  const where = place !== '' ? `slot ${place}` : cup === '' ? '' : `cup ${cup}`;
  const told = [where, text].filter((part) => part !== '').join(' ');
  const whole = (...names: string[]): Line => {
    const said = names.filter((name) => name !== '');
    return [...lead, span(told, tone), span(said.length === 0 ? '' : ` (${said.join(', ')})`)];
  };
  // What to do matters more than the yard, and the slot is enough to find the cup.
  const one = [whole(place === '' ? '' : cup, yard), whole(place === '' ? '' : cup), whole()].find(
    (line) => widthOf(line) <= width,
  );
  if (one !== undefined) return [one];
  const own = width - LEVEL_WIDTH - 1;
  return wrapped(told, own).map(
    (part, index): Line =>
      index === 0 ? [...lead, span(part, tone)] : [span(' '.repeat(LEVEL_WIDTH + 1)), span(part, tone)],
  );
}
