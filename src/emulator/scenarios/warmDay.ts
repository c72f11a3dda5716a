import type { Scenario } from '../scenario.js';
import { type CupPlan, morning } from './morning.js';

const colony = (name: string, group: string, kind: CupPlan['kind'] = 'strip'): CupPlan => ({
  kind,
  colony: name,
  group,
});

/**
 * The negative control of the cold morning: the same vehicle, crew and leaking slots on a mild day. No cup
 * goes cold, every cup is valid, and nothing is ruled out. The loose lead of slot A 6 lasts three and a half
 * minutes with what surrounds it: shorter than a cold spell may last, so that the cup stays valid.
 */
export const warmDay = (): Scenario =>
  morning({
    name: 'warm-day',
    summary: 'A mild day: nothing goes cold, every cup is valid and the verdicts stand as counted.',
    day: '2026-06-18',
    from: '07:00',
    to: '11:22',
    seed: 21,
    outside: [
      ['07:00', 17],
      ['11:22', 24],
    ],
    heater: [['07:00', '11:22', 23]],
    startDegrees: 26,
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
        cups: [
          colony('c21', 'line-1'),
          colony('c22', 'line-1'),
          colony('c23', 'line-2'),
          colony('c24', 'line-2'),
          colony('c25', 'line-2'),
          colony('c21', 'line-1'),
          colony('c22', 'line-1'),
          colony('c23', 'line-2'),
          colony('c24', 'line-2'),
          colony('c25', 'line-2', 'no-strip'),
        ],
      },
      {
        yard: 'birch-21',
        lot: 'P-2214',
        carrier: 'B',
        opened: '07:38',
        firstLoad: '07:40',
        firstCount: '11:08',
        closed: '11:20',
        cups: [
          colony('c31', 'line-1'),
          colony('c32', 'line-1'),
          colony('c33', 'line-3'),
          colony('c34', 'line-3'),
          colony('c35', 'line-3'),
          colony('c31', 'line-1'),
          colony('c32', 'line-1'),
          colony('c33', 'line-3'),
          colony('c34', 'line-3'),
          colony('c35', 'line-3', 'no-strip'),
        ],
      },
    ],
    moves: [{ at: '10:12', from: { carrier: 'B', slot: 9 }, to: { carrier: 'A', slot: 3 } }],
  });
