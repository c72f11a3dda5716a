import { slotText } from '../../visit/cup.js';
import type { CupView, SlotView } from '../../visit/slots.js';
import { dueWindow } from '../../visit/turnWindow.js';
import type { AlarmRow } from '../alarms.js';
import { withoutRuling } from '../blindWords.js';
import { TURN_ALL } from '../due.js';
import type { Situation } from '../situation.js';
import { troublesOf } from '../status.js';
import type { UnreadCup } from '../unread.js';
import { temperatureText, timeText, type Unit } from '../view.js';
import type { Statement } from './telling.js';

/** A cup that is to be turned within so many minutes is announced (j). */
export const DUE_SOON_MINUTES = 10;

/**
 * All that is so, as sentences, what cannot wait first. No ruling is among them, not even of a cup that still rides: a
 * line that was printed stays before the eyes of whoever counts.
 */
export function statements(situation: Situation, unit: Unit): Statement[] {
  const { slots, unseated, unread, problem } = situation;
  const riding = [
    ...slots.flatMap((slot) => (slot.cup === null ? [] : [{ view: slot.cup, slot }])),
    ...unseated.map((view) => ({ view, slot: null })),
  ];
  return [
    ...(problem === null
      ? []
      : [{ id: 'problem', state: problem, sentence: `${problem}.`, over: 'The store is read again.' }]),
    loggerStatement(situation),
    ...(riding.length === 0 ? [] : [{ id: 'turn all', state: '', sentence: TURN_ALL }]),
    ...riding.map((cup) => cupStatement(cup, situation, unit)),
    ...riding.map((cup) => alarmStatement(cup, situation.alarms)),
    ...riding.flatMap((cup) => dueStatement(cup, situation)),
    ...riding.flatMap((cup) => stateStatement(cup, situation.alarms, unit)),
    ...unread.map(unreadStatement),
    ...troublesOf(situation.status).map(
      ({ about, kind, text, over }): Statement => ({
        id: about,
        state: kind,
        sentence: `${capital(text)}.`,
        over,
      }),
    ),
  ];
}

/** A cup that is exposed, and the slot it is in. */
interface Riding {
  readonly view: CupView;
  readonly slot: SlotView | null;
}

function loggerStatement({ logger, alarms }: Situation): Statement {
  const silent = alarms.find(({ kind }) => kind === 'silent-logger');
  if (silent !== undefined)
    return { id: 'logger', state: 'silent', sentence: alarmText(silent), isUrgent: true };
  const { words } = logger;
  return words === 'logging'
    ? { id: 'logger', state: words, sentence: 'The logger is at work.', silent: 'at first' }
    : { id: 'logger', state: words, sentence: `${capital(words)}.` };
}

/** Where a cup is: in a slot, in none, or turned. */
function cupStatement({ view, slot }: Riding, { zone }: Situation, unit: Unit): Statement {
  const { cup, visit, state } = view;
  const colony = cup.colony === null ? '' : `, colony ${cup.colony}`;
  const place =
    slot === null ? 'in no slot' : `in slot ${slotText(slot)}, ${stateText({ view, slot }, unit)}`;
  const window = cup.spoiled !== null || state.minutesToLong < 0 ? '' : `; ${windowText(view, zone)}`;
  return {
    ...cupListed(cup.cup),
    state: slot === null ? 'in no slot' : slotText(slot),
    sentence: `Cup ${cup.cup}${colony}, yard ${visit.yard}: ${place}${window}.`,
  };
}

/** What was read of it is not told, only whether. */
function unreadStatement({ cup, tray, wash }: UnreadCup): Statement {
  const read = `tray ${tray ? 'read' : 'not read'}, wash ${wash ? 'read' : 'not read'}`;
  return { ...cupListed(cup), state: `turned, ${read}`, sentence: `Cup ${cup}: turned; ${read}.` };
}

const cupListed = (cup: string) =>
  ({
    id: `cup ${cup}`,
    isUrgent: true,
    over: `Cup ${cup} is listed no longer: it was read or spoiled, or its visit is closed.`,
  }) as const;

/** What is to be done at once, or that it is no longer. */
function alarmStatement({ view, slot }: Riding, alarms: readonly AlarmRow[]): Statement {
  const { cup } = view.cup;
  const alarm = alarms.find((row) => row.cup === cup);
  if (alarm !== undefined)
    return { id: `alarm ${cup}`, state: alarm.kind, sentence: alarmText(alarm), isUrgent: true };
  const where = slot === null ? `Cup ${cup}` : `Slot ${slotText(slot)}, cup ${cup}`;
  return {
    id: `alarm ${cup}`,
    state: 'none',
    sentence: `${where}: nothing to do at once any more.`,
    silent: 'at first',
  };
}

const LEVELS: Readonly<Record<AlarmRow['level'], string>> = { 'act-now': 'ACT NOW', due: 'DUE' };

function alarmText(alarm: AlarmRow): string {
  const { level, place, cup, yard, text } = withoutRuling(alarm);
  const where = place !== '' ? `slot ${place}, cup ${cup}: ` : cup === '' ? '' : `cup ${cup}, yard ${yard}: `;
  return `${LEVELS[level]}: ${where}${text}.`;
}

function dueStatement({ view, slot }: Riding, { zone }: Situation): Statement[] {
  const { cup, state } = view;
  if (cup.spoiled !== null || state.minutesToDue > DUE_SOON_MINUTES || state.minutesToDue <= 0) return [];
  const where = slot === null ? 'in no slot' : `in slot ${slotText(slot)}`;
  const left = `due in ${Math.ceil(state.minutesToDue)} min`;
  return [
    {
      id: `due ${cup.cup}`,
      state: 'soon',
      sentence: `Cup ${cup.cup}, ${where}: ${left}; ${windowText(view, zone)}.`,
    },
  ];
}

/** How a seated cup is doing. How it is when it comes there was said with its place, and an alarm says it, too. */
function stateStatement({ view, slot }: Riding, alarms: readonly AlarmRow[], unit: Unit): Statement[] {
  if (slot === null) return [];
  const { cup } = view.cup;
  const word = wordOf({ view, slot });
  const alarm = alarms.find((row) => row.cup === cup);
  return [
    {
      id: `state ${cup} ${slotText(slot)}`,
      state: word,
      sentence: `Slot ${slotText(slot)}, cup ${cup}: ${stateText({ view, slot }, unit)}.`,
      silent: alarm?.kind.replaceAll('-', ' ') === word ? 'now' : 'at first',
    },
  ];
}

const wordOf = ({ view, slot }: Riding): string => {
  if (view.cup.spoiled !== null) return 'spoiled';
  if (slot?.rom === null) return 'no probe';
  // Seated a moment ago, by a clock that is a moment behind.
  return view.state.word === 'not seated' ? 'no reading' : view.state.word;
};

function stateText(riding: Riding, unit: Unit): string {
  const word = wordOf(riding);
  const { latest } = riding.view.state;
  const isRead = latest !== null && !['spoiled', 'no probe', 'no reading'].includes(word);
  return isRead ? `${word}, ${temperatureText(latest.celsius, unit)}` : word;
}

function windowText({ cup, visit }: CupView, zone: string): string {
  const { from, to } = dueWindow(cup, visit);
  return `turn it between ${timeText(from, zone)} and ${timeText(to, zone)}`;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
