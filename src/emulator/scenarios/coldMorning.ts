import { type MorningPlan, twoCupsEach } from './morning.js';

/**
 * A cold morning. Two cups a colony ride on opposite sides of their carrier. The heater stays off for most of
 * the ride; carrier A is tight and stays warm, but carrier B stands by the door and its slots 1 to 4 leak, so
 * that four cups of the second yard go cold under strips that would have worked. Left in, they make the yard
 * look below the line; ruled out, it does not.
 *
 * The seed is chosen, the counts are drawn. As counted, the yard's estimate is under 70 % with each of 200
 * seeds tried; its whole interval is with 70, the interval of the valid cups lies above with 67, both with 15.
 * With ten colonies in place of five, the spread between cold and warm cups would leave it undecided.
 *
 * The lead in slot A 6 is loose for eight minutes in a warm ride: longer than a cold spell may last, so that
 * nothing proves the cup stayed warm and it is unproven. Silence is not evidence.
 */
export const COLD_MORNING: MorningPlan = {
  name: 'cold-morning',
  summary:
    'A cold morning: the heater is off, four cups by the door go cold and make a working strip look failed.',
  day: '2026-05-12',
  from: '07:00',
  to: '11:22',
  seed: 56,
  outside: [
    ['07:00', 4],
    ['08:30', 5],
    ['10:00', 7],
    ['11:22', 9],
  ],
  heater: [
    ['07:00', '07:34', 24],
    ['10:36', '11:22', 24],
  ],
  startDegrees: 27,
  draughts: [1, 2, 3, 4].map((slot) => ({ carrier: 'B', slot, wattsPerKelvin: 0.15 })),
  looseLeads: [{ carrier: 'A', slot: 6, from: '08:40', to: '08:48' }],
  visits: [
    {
      yard: 'alder-07',
      lot: 'P-2214',
      carrier: 'A',
      opened: '07:00',
      firstLoad: '07:02',
      firstCount: '10:32',
      closed: '11:20',
      cups: twoCupsEach([
        ['c01', 'line-1'],
        ['c02', 'line-1'],
        ['c03', 'line-2'],
        ['c04', 'line-2'],
        ['c05', 'line-2'],
      ]),
    },
    {
      yard: 'sedge-12',
      lot: 'P-2214',
      carrier: 'B',
      opened: '07:38',
      firstLoad: '07:40',
      firstCount: '11:08',
      closed: '11:20',
      cups: twoCupsEach([
        ['c11', 'line-1'],
        ['c12', 'line-1'],
        ['c13', 'line-3'],
        ['c14', 'line-3'],
        ['c15', 'line-3'],
      ]),
    },
  ],
  moves: [{ at: '10:12', from: { carrier: 'B', slot: 9 }, to: { carrier: 'A', slot: 3 } }],
};
