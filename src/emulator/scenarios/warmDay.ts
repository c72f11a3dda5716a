import { type MorningPlan, twoCupsEach } from './morning.js';
import { TWO_YARDS, twoVisits } from './twoYards.js';

/**
 * The negative control of the cold morning: the same vehicle, crew and leaking slots on a mild day. No cup
 * goes cold, every cup is valid, and nothing is ruled out. The loose lead of slot A 6 lasts three
 * minutes: shorter than a cold spell may last, so that the cup stays valid.
 */
export const WARM_DAY: MorningPlan = {
  ...TWO_YARDS,
  name: 'warm-day',
  summary: 'A mild day: nothing goes cold, every cup is valid and the verdicts stand as counted.',
  day: '2026-06-18',
  seed: 9,
  outside: [
    ['07:00', 17],
    ['11:22', 24],
  ],
  heater: [['07:00', '11:22', 23]],
  looseLeads: [{ carrier: 'A', slot: 6, from: '08:40', to: '08:43' }],
  visits: twoVisits(
    {
      yard: 'clover-03',
      cups: twoCupsEach([
        ['c21', 'line-1'],
        ['c22', 'line-1'],
        ['c23', 'line-2'],
        ['c24', 'line-2'],
        ['c25', 'line-2'],
      ]),
    },
    {
      yard: 'birch-21',
      cups: twoCupsEach([
        ['c31', 'line-1'],
        ['c32', 'line-1'],
        ['c33', 'line-3'],
        ['c34', 'line-3'],
        ['c35', 'line-3'],
      ]),
    },
  ),
};
