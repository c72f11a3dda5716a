import { describe, expect, it } from 'vitest';
import { NEIGHBOUR_MOVED, UNCHANGING_AFTER, unchangingWatch } from '../../../src/carrier/host/unchanging.js';
import { invented } from '../../mirror/rig.js';

const [one, two] = [invented(1), invented(2)];
const PERIOD = 10_000;
const MINUTES_30 = UNCHANGING_AFTER / PERIOD;

/** What becomes of the first probe's values, scan by scan, and what is said. */
function watched(
  scans: number,
  first: (scan: number) => number | null,
  second: (scan: number) => number | null,
) {
  const said: string[] = [];
  const watch = unchangingWatch((sentence) => said.push(sentence));
  const seen: string[] = [];
  for (let scan = 0; scan <= scans; scan += 1) {
    const look = (rom: typeof one, raw: number | null) =>
      watch.look({ rom, raw, status: raw === null ? 'missing' : 'ok' }, scan * PERIOD).status;
    seen.push(look(one, first(scan)));
    look(two, second(scan));
  }
  return { seen, said, flagged: seen.filter((status) => status === 'unchanging').length };
}
/** A neighbour that warms by so many sixteenths in half an hour. */
const moving = (by: number) => (scan: number) => 400 + Math.floor((by * scan) / (MINUTES_30 - 1));

describe('unchangingWatch()', () => {
  it('takes a probe for stuck that gives one value for half an hour while its neighbour moves by 1 °C', () => {
    const { seen, said } = watched(MINUTES_30 + 5, () => 399, moving(NEIGHBOUR_MOVED));
    expect(seen.indexOf('unchanging')).toBe(MINUTES_30);
    expect(seen.slice(MINUTES_30)).toEqual(new Array(6).fill('unchanging'));
    expect(said).toEqual([
      `probe ${one} has read 24.9375 °C and nothing else for 30 min; from now on its values are no observations until they change: look at the probe, and do not rely on its cup since then`,
    ]);
  });

  it('believes it again when it changes, and says so', () => {
    const { seen, said } = watched(
      MINUTES_30 + 5,
      (scan) => (scan > MINUTES_30 + 2 ? 401 : 399),
      moving(NEIGHBOUR_MOVED),
    );
    expect(seen.slice(-4)).toEqual(['unchanging', 'ok', 'ok', 'ok']);
    expect(said[1]).toBe(`probe ${one} changes again; its values count from now on`);
  });

  // Negative controls: probes that measure.
  it.each<[string, (scan: number) => number | null, (scan: number) => number | null]>([
    ['one sixteenth of movement', (scan) => (scan === 90 ? 400 : 399), moving(NEIGHBOUR_MOVED)],
    ['neighbours that stand still too, as in ice', () => 0, () => 1],
    ['a neighbour that moved by less than 1 °C', () => 399, moving(NEIGHBOUR_MOVED - 1)],
    [
      'a neighbour whose first value after an absence is of long ago',
      () => 399,
      (scan) => (scan === 50 ? null : scan === 51 ? 1360 : 400),
    ],
  ])('lets a probe be with %s', (_, first, second) => {
    expect(watched(MINUTES_30 + 5, first, second)).toMatchObject({ flagged: 0, said: [] });
  });

  it('takes any probe for stuck that gives one value for three hours', () => {
    const { seen } = watched(
      1085,
      () => 399,
      () => 400,
    );
    expect(seen.indexOf('unchanging')).toBe(1080);
  });

  it('begins anew when nobody read the probe for a while, as when the computer slept', () => {
    const asleep = (scan: number) => scan > 30 && scan < 30 + 31;
    const { flagged } = watched(
      MINUTES_30 + 5,
      (scan) => (asleep(scan) ? null : 399),
      (scan) => (asleep(scan) ? null : moving(NEIGHBOUR_MOVED)(scan)),
    );
    expect(flagged).toBe(0);
  });

  it('counts the time a probe is missing, for a stuck driver may lose it meanwhile', () => {
    const { flagged } = watched(
      MINUTES_30 + 5,
      (scan) => (scan % 7 === 3 ? null : 399),
      moving(NEIGHBOUR_MOVED),
    );
    expect(flagged).toBeGreaterThan(0);
  });
});
