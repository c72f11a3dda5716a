import { type MorningPlan, twoCupsEach } from './morning.js';
import { TWO_YARDS, twoVisits } from './twoYards.js';

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
  ...TWO_YARDS,
  name: 'cold-morning',
  summary:
    'A cold morning: the heater is off, four cups by the door go cold and make a working strip look failed.',
  day: '2026-05-12',
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
  looseLeads: [{ carrier: 'A', slot: 6, from: '08:40', to: '08:48' }],
  visits: twoVisits(
    {
      yard: 'alder-07',
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
      cups: twoCupsEach([
        ['c11', 'line-1'],
        ['c12', 'line-1'],
        ['c13', 'line-3'],
        ['c14', 'line-3'],
        ['c15', 'line-3'],
      ]),
    },
  ),
};
