import { type MorningPlan, twoCupsEach } from './morning.js';

/**
 * The negative control of the cold morning: the same vehicle, crew and leaking slots on a mild day. No cup
 * goes cold, every cup is valid, and nothing is ruled out. The loose lead of slot A 6 lasts three
 * minutes: shorter than a cold spell may last, so that the cup stays valid.
 */
export const WARM_DAY: MorningPlan = {
  name: 'warm-day',
  summary: 'A mild day: nothing goes cold, every cup is valid and the verdicts stand as counted.',
  day: '2026-06-18',
  from: '07:00',
  to: '11:22',
  seed: 9,
  outside: [
    ['07:00', 17],
    ['11:22', 24],
  ],
  heater: [['07:00', '11:22', 23]],
  startDegrees: 27,
  draughts: [1, 2, 3, 4].map((slot) => ({ carrier: 'B', slot, wattsPerKelvin: 0.15 })),
  looseLeads: [{ carrier: 'A', slot: 6, from: '08:40', to: '08:43' }],
  visits: [
    {
      yard: 'clover-03',
      lot: 'P-2214',
      carrier: 'A',
      opened: '07:00',
      firstLoad: '07:02',
      firstCount: '10:32',
      closed: '11:20',
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
      lot: 'P-2214',
      carrier: 'B',
      opened: '07:38',
      firstLoad: '07:40',
      firstCount: '11:08',
      closed: '11:20',
      cups: twoCupsEach([
        ['c31', 'line-1'],
        ['c32', 'line-1'],
        ['c33', 'line-3'],
        ['c34', 'line-3'],
        ['c35', 'line-3'],
      ]),
    },
  ],
  moves: [{ at: '10:12', from: { carrier: 'B', slot: 9 }, to: { carrier: 'A', slot: 3 } }],
};
