import { inventedRom } from '../../../src/emulator/scenarios/carriers.js';
import { parseCarrierId, parseCupLabel, parseVisitId } from '../../../src/units/ids.js';
import { celsius } from '../../../src/units/temperature.js';
import { durationMs, later, MS_PER_MINUTE, parseInstant } from '../../../src/units/time.js';
import type { FieldDay } from './day.js';

const START = parseInstant('2026-05-12T07:00:00-05:00')!;
const [CARRIER, VISIT] = [parseCarrierId('A')!, parseVisitId('260512-1')!];
const at = (minutes: number) => later(START, durationMs(minutes * MS_PER_MINUTE));
const cup = (number: number) => parseCupLabel(`C-${100 + number}`)!;
const LOADED = [2, 4, 6, 8, 10];
const LOST = 3;

const slots = Array.from({ length: 12 }, (_, index) => ({
  slot: index + 1,
  rom: inventedRom([(index * 0x4d + 0x21) & 0xff, (index * 0x1f) & 0xff, 0x21, 0x0c]),
}));
const clock = (minutes: number) => `07:${String(minutes).padStart(2, '0')}`;

/**
 * The first half hour of an invented morning on which nobody put the heater on: the lid of slot 3 does not close, and its
 * cup is cold at once. At 07:26 it can still be filled again where its colony stands.
 */
export const EARLY_DAY: FieldDay = {
  ride: {
    start: START,
    end: at(40),
    outside: [
      { at: START, celsius: celsius(3) },
      { at: at(40), celsius: celsius(4) },
    ],
    heater: [],
    startCelsius: celsius(20),
    carrierStartCelsius: celsius(27),
    carriers: [
      {
        carrier: CARRIER,
        slots: slots.map((each) => ({ ...each, draughtWattsPerKelvin: each.slot === LOST ? 0.5 : 0 })),
      },
    ],
    cups: LOADED.map((_, index) => ({ cup: cup(index + 1), bees: 300 })),
    crew: LOADED.flatMap((minute, index) => [
      {
        at: at(minute),
        does: 'load' as const,
        visit: VISIT,
        cup: cup(index + 1),
        kind: 'strip' as const,
        colony: 'c',
        group: null,
      },
      { at: at(minute + 1), does: 'seat' as const, cup: cup(index + 1), carrier: CARRIER, slot: index + 1 },
    ]).sort((one, other) => one.at - other.at),
    seed: 5,
  },
  carrier: { carrier: CARRIER, slots, faults: [], isAssigned: true },
  steps: [
    {
      time: '07:01',
      keys: '',
      commands: [['visit', 'open', VISIT, '--yard', 'alder-07', '--active', 'amitraz strip', '--cups', '5']],
    },
    ...LOADED.flatMap((minute, index) => [
      {
        time: clock(minute),
        keys: '',
        commands: [['cup', 'load', cup(index + 1), '--colony', String(index + 1)]],
      },
      { time: clock(minute + 1), keys: '', commands: [['cup', 'seat', cup(index + 1), `A:${index + 1}`]] },
    ]),
    { time: '07:26', keys: '', commands: [], shows: 'an early warning' },
  ],
};
