import type { CrewAction, ScenarioCarrier } from '../../../src/emulator/scenario.js';
import { inventedRom } from '../../../src/emulator/scenarios/carriers.js';
import type { Ride } from '../../../src/emulator/vehicle.js';
import { parseCarrierId, parseCupLabel, parseVisitId } from '../../../src/units/ids.js';
import { celsius } from '../../../src/units/temperature.js';
import { durationMs, later, MS_PER_MINUTE, parseInstant } from '../../../src/units/time.js';

/** The zone of the computer and the yard: a fixed offset, so that no place is meant. */
export const ZONE = 'Etc/GMT+5';
const START = parseInstant('2026-05-12T07:00:00-05:00')!;
const [CARRIER, VISIT] = [parseCarrierId('A')!, parseVisitId('260512-1')!];
const SLOTS = 12;

/** Minutes since seven o'clock of a time of day, as 09:40. */
export function minutesIn(time: string): number {
  const [hours = 0, minutes = 0] = time.split(':').map(Number);
  return (hours - 7) * 60 + minutes;
}
const clock = (minutes: number): string =>
  `${String(7 + Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
const at = (minutes: number) => later(START, durationMs(minutes * MS_PER_MINUTE));
const cup = (number: number) => parseCupLabel(`C-${100 + number}`)!;

/** What the crew does at a time of day: by keys (\n is Enter), and by commands that say the same. */
export interface Step {
  readonly time: string;
  readonly keys: string;
  readonly commands: readonly (readonly string[])[];
  /** The name under which the screen is kept at the | in `keys`, or after them. */
  readonly shows?: string;
  /** What becomes of the cable of the board before that. */
  readonly cable?: 'out' | 'in';
  /** Whose name stands beside what is entered from now on; the first of the crew's until somebody else is named. */
  readonly by?: string;
}

/** The crew; invented. */
export const CREW = { first: 'Rika', second: 'Tove' } as const;

export interface FieldDay {
  readonly ride: Ride;
  readonly carrier: ScenarioCarrier;
  readonly steps: readonly Step[];
}

/** When the cups of slots 1 to 10 are loaded; each is seated a minute later. */
const LOADED = Array.from({ length: 10 }, (_, index) => 2 + 2 * index);
const REPLACED = { cup: 4, by: 11, minute: 24 };
const MOVED = { cup: 5, to: 11, minute: 70 };
const SPOILED = { cup: 7, minute: 90 };
/** Entered six minutes after it happened. */
const LATE = { cup: 10, minute: 26 };
const EXPOSURE = 180;
/** By a person, against what the rules say. */
const OVERRULED = { cup: 9, as: ['unproven', '6'], why: 'its probe hung outside for a while' } as const;
/** The first tray, typed for the cup beside it and taken back. */
const WRONG = { typed: 2, tray: 4 };
/** Bees that were not counted one by one, with how sure that is, in percent. */
const WEIGHED = { cup: 6, how: ['weighed', '2'], cv: '4' } as const;
const ESTIMATED = { cup: 8, how: ['estimated', '3'], cv: '10' } as const;
/** Mites on the tray and in the wash, and bees: invented. */
const COUNTS: readonly (readonly [number: number, tray: number, wash: number, bees: number])[] = [
  [1, 4, 9, 312],
  [2, 5, 8, 297],
  [3, 9, 3, 305],
  [5, 7, 2, 288],
  [6, 11, 3, 321],
  [8, 6, 2, 300],
  [9, 8, 1, 293],
  [10, 5, 2, 310],
  [11, 7, 3, 302],
];
const lines = ([first, ...rest]: readonly string[]) => [first, ...rest].map((key) => `${key}\n`).join('');

const STEPS: readonly Step[] = [
  {
    time: '07:01',
    keys: lines(['15', '', 'alder-07', 'amitraz strip', 'P-2214', '10', '|']),
    commands: [
      ['visit', 'open', VISIT, '--yard', 'alder-07', '--active', 'amitraz strip', '--lot', 'P-2214'].concat(
        '--cups',
        '10',
      ),
    ],
    shows: 'open a visit',
  },
  ...LOADED.flatMap((minute, index): Step[] => {
    const number = index + 1;
    if (number === LATE.cup) return [];
    // The first label is scanned, the others follow; colony 3 is typed as 8.
    const colony = number === 3 ? '8' : String(((number - 1) % 5) + 1);
    return [
      {
        time: clock(minute),
        keys: `${lines(['1', number === 1 ? cup(1) : '', '', colony, '', number === 1 ? '|' : ''])}*`,
        commands: [['cup', 'load', '--cup', cup(number), '--colony', colony]],
        ...(number === 1 ? { shows: 'load a cup' } : {}),
      },
      {
        time: clock(minute + 1),
        keys: lines(['2', '', '', '']),
        commands: [['cup', 'seat', '--cup', cup(number), '--slot', String(number)]],
      },
    ];
  }),
  {
    time: clock(REPLACED.minute),
    keys: lines(['9', cup(REPLACED.cup), '', cup(REPLACED.by), '', '|']),
    commands: [
      [
        'cup',
        'replace',
        cup(REPLACED.cup),
        '--why',
        'cold when it was seated',
        '--with',
        cup(REPLACED.by),
      ].concat('--slot', `A:${REPLACED.cup}`),
    ],
    shows: 'replace a cup',
  },
  {
    time: clock(LATE.minute),
    keys: `${lines(['1', cup(LATE.cup), '', '5', '', '7:20', '2', '1', '|'])}*${lines(['2', '', '10', '7:21', '2', '1', ''])}`,
    commands: [
      ['cup', 'load', '--cup', cup(LATE.cup), '--colony', '5', '--at', '07:20', '--within', '2m'].concat(
        '--late',
        'hands full',
      ),
      ['cup', 'seat', '--cup', cup(LATE.cup), '--slot', 'A:10', '--at', '07:21', '--within', '2m'].concat(
        '--late',
        'hands full',
      ),
    ],
    shows: 'enter something late',
  },
  { time: '07:35', keys: '', commands: [], shows: 'the ride' },
  {
    time: '07:40',
    keys: lines(['12', cup(3), '1', '6', '3', '1', '|']),
    commands: [
      [
        'cup',
        'correct',
        cup(3),
        '--entry',
        `load of ${cup(3)}`,
        '--colony',
        '3',
        '--why',
        'written down wrongly',
      ],
    ],
    shows: 'correct an entry',
  },
  {
    time: clock(MOVED.minute),
    keys: lines(['7', cup(MOVED.cup), String(MOVED.to), '']),
    commands: [['cup', 'move', cup(MOVED.cup), '--slot', `A:${MOVED.to}`]],
  },
  {
    time: clock(SPOILED.minute),
    keys: lines(['10', cup(SPOILED.cup), '1', '']),
    commands: [['cup', 'spoil', cup(SPOILED.cup), '--why', 'lid came off']],
  },
  { time: '08:50', keys: '11\nC-103\nlid looks lo', commands: [], shows: 'half typed' },
  {
    time: '08:58',
    keys: '|ose\n\n',
    commands: [['cup', 'note', cup(3), '--text', 'lid looks loose']],
    shows: 'an alarm while typing',
  },
  { time: '08:58', keys: '', commands: [], shows: 'a warning' },
  { time: '09:05', keys: 'm', commands: [], shows: 'muted' },
  { time: '09:06', keys: 'm', commands: [] },
  { time: '09:12', keys: '11\nC-105\nsunny si', commands: [], cable: 'out' },
  { time: '09:15', keys: '', commands: [], shows: 'a lost connection' },
  { time: '09:15', keys: '', commands: [], cable: 'in' },
  {
    time: '09:17',
    keys: '|de of the car\n\n',
    commands: [['cup', 'note', cup(5), '--text', 'sunny side of the car']],
    shows: 'connected again',
  },
  { time: '09:40', keys: `${cup(1)}\n`, commands: [], shows: 'a cup' },
  { time: '09:41', keys: '*', commands: [] },
  ...[1, 2, 3, 5, 6, 8, 9, 10, 11].map((number): Step => {
    const minute = (number === REPLACED.by ? REPLACED.minute : LOADED[number - 1]!) + EXPOSURE;
    return {
      time: clock(minute),
      keys: `${lines(['3', number === 1 ? `|${cup(number)}` : cup(number), ''])}*`,
      commands: [['cup', 'turn', cup(number)]],
      ...(number === 1 ? { shows: 'turn a cup' } : {}),
    };
  }),
  {
    time: '10:26',
    keys: lines(['14', cup(OVERRULED.cup), OVERRULED.as[1], `|${OVERRULED.why}`, '']),
    commands: [['cup', 'overrule', cup(OVERRULED.cup), OVERRULED.as[0], '--why', OVERRULED.why]],
    shows: 'overrule a ruling',
  },
  {
    time: '10:27',
    keys: `${lines(['4', cup(WRONG.typed), String(WRONG.tray), ''])}*u${lines(['3', '|'])}`,
    commands: [
      ['cup', 'count', cup(WRONG.typed), '--tray', String(WRONG.tray)],
      ['cup', 'withdraw', cup(WRONG.typed), '--entry', `count of ${cup(WRONG.typed)}`, '--why', 'wrong cup'],
    ],
    shows: 'withdraw a count',
  },
  {
    time: '10:28',
    keys: `18\n|${CREW.second}\n`,
    commands: [],
    shows: 'who enters',
    by: CREW.second,
  },
  ...COUNTS.map(
    ([number, tray], index): Step => ({
      time: clock(208 + index),
      keys: `${lines(['4', cup(number), index === 0 ? `|${tray}` : String(tray), ''])}*`,
      commands: [['cup', 'count', cup(number), '--tray', String(tray)]],
      ...(index === 0 ? { shows: 'count a tray' } : {}),
    }),
  ),
  ...COUNTS.map(([number, , wash, bees], index): Step => {
    const method = [WEIGHED, ESTIMATED].find((each) => each.cup === number);
    const how = method === undefined ? [''] : [method.how[1], method.cv];
    return {
      time: clock(220 + index),
      keys: `${lines(['5', cup(number), index === 0 ? `|${wash}` : String(wash), ''])}*${lines(['6', cup(number), String(bees), ...how, '', ''])}`,
      commands: [
        ['cup', 'count', cup(number), '--wash', String(wash)],
        [
          ...['cup', 'count', cup(number), '--bees', String(bees)],
          ...(method === undefined ? [] : ['--bees-how', method.how[0], '--bees-cv', method.cv]),
        ],
      ],
      ...(index === 0 ? { shows: 'count a wash' } : {}),
    };
  }),
  {
    time: '10:50',
    // The first of the crew has the last word: / before the last Enter.
    keys: `${lines(['5', cup(2), '|1', '1'])}/\n*`,
    by: CREW.first,
    commands: [['cup', 'count', cup(2), '--wash-again', '1']],
    shows: 'a second wash',
  },
  { time: '10:52', keys: lines(['16', '', '']), commands: [['visit', 'close', VISIT]] },
  { time: '10:53', keys: lines(['17']), commands: [], shows: 'the result' },
];

/** What moves cups about, for the vehicle: the same doings, whatever is entered of them. */
function handling(): CrewAction[] {
  const actions: CrewAction[] = [];
  const load = (number: number, minute: number, slot: number) =>
    actions.push(
      {
        at: at(minute),
        does: 'load',
        visit: VISIT,
        cup: cup(number),
        kind: 'strip',
        colony: 'c',
        group: null,
      },
      {
        at: at(number === REPLACED.by ? minute : minute + 1),
        does: 'seat',
        cup: cup(number),
        carrier: CARRIER,
        slot,
      },
    );
  for (const [index, minute] of LOADED.entries()) load(index + 1, minute, index + 1);
  actions.push({ at: at(REPLACED.minute), does: 'lift', cup: cup(REPLACED.cup) });
  load(REPLACED.by, REPLACED.minute, REPLACED.cup);
  actions.push({ at: at(MOVED.minute), does: 'move', cup: cup(MOVED.cup), carrier: CARRIER, slot: MOVED.to });
  for (const [index, minute] of LOADED.entries())
    if (index + 1 !== REPLACED.cup)
      actions.push({ at: at(minute + EXPOSURE), does: 'turn', cup: cup(index + 1) });
  actions.push({ at: at(REPLACED.minute + EXPOSURE), does: 'turn', cup: cup(REPLACED.by) });
  return actions.sort((one, other) => one.at - other.at);
}

const slots = Array.from({ length: SLOTS }, (_, index) => ({
  slot: index + 1,
  rom: inventedRom([(index * 0x4d + 0x21) & 0xff, (index * 0x1f) & 0xff, 0x21, 0x0c]),
}));

/**
 * An invented morning of one yard: ten cups, one replaced, one moved, one spoiled, one entered late, one corrected, one
 * overruled, one count typed for the wrong cup. The heater is off for a while, two slots are draughty, and their cups go cold. The board is unplugged for
 * three minutes.
 */
export const FIELD_DAY: FieldDay = {
  ride: {
    start: START,
    end: at(240),
    outside: [
      { at: START, celsius: celsius(4) },
      { at: at(240), celsius: celsius(9) },
    ],
    heater: [
      { from: START, to: at(95), celsius: celsius(24) },
      { from: at(145), to: at(240), celsius: celsius(24) },
    ],
    startCelsius: celsius(27),
    carriers: [
      {
        carrier: CARRIER,
        slots: slots.map((each) => ({ ...each, draughtWattsPerKelvin: each.slot <= 2 ? 0.3 : 0 })),
      },
    ],
    cups: Array.from({ length: 11 }, (_, index) => ({ cup: cup(index + 1), bees: 300 })),
    crew: handling(),
    seed: 12,
  },
  carrier: { carrier: CARRIER, slots, faults: [], isAssigned: true },
  steps: STEPS,
};
