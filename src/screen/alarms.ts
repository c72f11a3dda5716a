import type { Alarm, AlarmKind } from '../exposure/live.js';
import { slotText } from '../visit/cup.js';
import type { CupView, SlotView } from '../visit/slots.js';
import { type Line, type Span, sized, span, type Tone, widthOf, wrapped } from './line.js';
import type { LoggerSign } from './loggerSign.js';

/** An alarm as the crew reads it. */
export interface AlarmRow {
  /** What tells it from others: another thing to do, or another cup, is another alarm. */
  readonly id: string;
  readonly kind: AlarmKind | 'silent-logger';
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
  const text = `${logger.words}: ${logger.cure ?? 'start it again'}`;
  return [
    { id: 'silent-logger', kind: 'silent-logger', level: 'act-now', place: '', cup: '', yard: '', text },
    ...cups,
  ];
}

function alarmOf({ cup, visit, state }: CupView, slot: SlotView | null) {
  if (cup.spoiled !== null) return [];
  const unseen = slot !== null && slot.rom === null && state.alarm?.level !== 'due';
  const alarm = unseen && state.ruledAlready === null ? NO_PROBE : state.alarm;
  if (alarm === null) return [];
  const { level, kind, text } = alarm;
  const place = slot === null ? '' : slotText(slot);
  const row: AlarmRow = {
    id: `${kind} ${cup.cup}`,
    kind,
    level,
    place,
    cup: cup.cup,
    yard: visit.yard,
    text,
  };
  return level === 'act-now'
    ? [{ row, order: 0, pressing: state.coldMinutesLeft + (state.coldInMinutes ?? 0) }]
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
  const single = sorted.map((alarm) => alarmCell([alarm], isSeen(alarm), width));
  const fits = single.reduce((sum, { lines }) => sum + lines.length, 0) <= room;
  const cells = fits
    ? single
    : grouped(sorted, isSeen).map((group) => alarmCell(group, isSeen(group[0]), width));
  const lines: Line[] = [];
  for (const [index, cell] of cells.entries()) {
    const isLast = index === cells.length - 1;
    // Another line stays free to tell how many more there are.
    if (lines.length + cell.lines.length <= room - (isLast ? 0 : 1)) {
      lines.push(...cell.lines);
      continue;
    }
    return [...lines, ...withoutRoom(cells.slice(index), width, room - lines.length, index === 0)];
  }
  return lines;
}

/** The first alarm is told in any case, cut if need be; the others are counted. */
function withoutRoom(cells: readonly Cell[], width: number, room: number, isFirst: boolean): Line[] {
  const count = (from: number) => cells.slice(from).reduce((sum, { alarms }) => sum + alarms, 0);
  const more = (from: number): Line[] => {
    const left = count(from);
    return left === 0 ? [] : [[span(`and ${left} more alarm${left === 1 ? '' : 's'}`, 'watch')]];
  };
  if (room < 1) return [];
  if (!isFirst) return more(0);
  const first = cells[0]!.brief;
  const whole = cells[0]!.briefLines;
  if (whole.length + more(1).length <= room) return [...whole, ...more(1)];
  const tail = count(1) === 0 ? '' : ` +${count(1)}`;
  const last = whole.at(-1)!;
  if (whole.length <= room && widthOf(last) + tail.length <= width)
    return [...whole.slice(0, -1), [...last, span(tail, 'watch')]];
  if (room > 1) return [cut(first, width), ...more(1)];
  return [[...cut(first, width - tail.length), span(tail, 'watch')]];
}

const cut = (line: Line, width: number): Line => (widthOf(line) <= width ? line : sized(line, width));

type Group = readonly [AlarmRow, ...AlarmRow[]];

/** Alarms that ask for the same of several slots as one, in the order of the first of each. */
function grouped(alarms: readonly AlarmRow[], isSeen: (alarm: AlarmRow) => boolean): Group[] {
  const groups = new Map<string, [AlarmRow, ...AlarmRow[]]>();
  for (const alarm of alarms) {
    const key = alarm.place === '' ? alarm.id : `${alarm.kind} ${isSeen(alarm)}`;
    const known = groups.get(key);
    if (known === undefined) groups.set(key, [alarm]);
    else known.push(alarm);
  }
  return [...groups.values()];
}

interface Cell {
  /** What matters most of it, in one line of any length. */
  readonly brief: Line;
  /** The same in as many lines as it takes. */
  readonly briefLines: readonly Line[];
  readonly lines: readonly Line[];
  /** How many alarms it tells. */
  readonly alarms: number;
}

/** What is said of several slots are the words of the first, which is the most pressing. */
function alarmCell(group: Group, isSeen: boolean, width: number): Cell {
  const [{ level, place, cup, yard, text }] = group;
  const { word, tone } = isSeen ? SEEN : LEVEL[level];
  const lead: Span[] = [span(word.padEnd(LEVEL_WIDTH), tone), span(' ')];
  const slots = group.map((alarm) => alarm.place).join(', ');
  const where =
    group.length > 1 ? `slots ${slots}` : place !== '' ? `slot ${place}` : cup === '' ? '' : `cup ${cup}`;
  const told = [where, text].filter((part) => part !== '').join(' ');
  const whole = (...names: string[]): Line => {
    const said = group.length > 1 ? [] : names.filter((name) => name !== '');
    return [...lead, span(told, tone), span(said.length === 0 ? '' : ` (${said.join(', ')})`)];
  };
  // What to do matters more than the yard, and the slot is enough to find the cup.
  const named = place === '' ? '' : cup;
  const one = [whole(named, yard), whole(named), whole()].find((line) => widthOf(line) <= width);
  if (one !== undefined) return { brief: one, briefLines: [one], lines: [one], alarms: group.length };
  const indent = span(' '.repeat(LEVEL_WIDTH + 1));
  const broken = (words: string): Line[] =>
    wrapped(words, width - LEVEL_WIDTH - 1, tone).map(
      (part, index): Line => [...(index === 0 ? lead : [indent]), ...part],
    );
  const short = group.length > 2 ? `slot ${place} and ${group.length - 1} more ${text}` : told;
  return {
    brief: [...lead, span(short, tone)],
    briefLines: broken(short),
    lines: broken(told),
    alarms: group.length,
  };
}
