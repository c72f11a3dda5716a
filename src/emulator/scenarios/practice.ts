import { type MorningPlan, twoCupsEach } from './morning.js';

/**
 * A carrier to practise on. What comes before the handover is done: seven cups of one yard are due one after the other
 * from then on, six of another were just loaded. The heater was off while these were, and two of them stand in a draught:
 * the first went cold at once and can still be filled again, the second will be cold soon. Seven slots are free.
 */
export const PRACTICE: MorningPlan = {
  name: 'practice',
  summary: 'A morning that is handed over at 10:00: cups to turn, to count, to replace and to load by keys.',
  day: '2026-05-19',
  from: '07:00',
  to: '13:00',
  handover: '10:00',
  seed: 12,
  outside: [
    ['07:00', 3],
    ['10:00', 6],
    ['13:00', 12],
  ],
  heater: [
    ['07:00', '09:20', 24],
    ['10:12', '13:00', 24],
  ],
  startDegrees: 27,
  draughts: [
    { carrier: 'B', slot: 1, wattsPerKelvin: 0.5 },
    { carrier: 'B', slot: 2, wattsPerKelvin: 0.12 },
  ],
  looseLeads: [],
  visits: [
    {
      yard: 'maple-05',
      lot: 'P-2214',
      carrier: 'A',
      opened: '07:00',
      firstLoad: '07:02',
      firstCount: '10:32',
      closed: '12:50',
      cups: twoCupsEach([
        ['c41', 'line-1'],
        ['c42', 'line-1'],
        ['c43', 'line-2'],
        ['c44', 'line-2'],
      ]).slice(0, 7),
    },
    {
      yard: 'rowan-16',
      lot: 'P-2214',
      carrier: 'B',
      opened: '09:37',
      firstLoad: '09:38',
      firstCount: '12:55',
      closed: '12:59',
      cups: twoCupsEach([
        ['c51', 'line-1'],
        ['c52', 'line-3'],
        ['c53', 'line-3'],
      ]),
    },
  ],
  moves: [],
};
