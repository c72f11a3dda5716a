import { utcMs } from '../../src/units/time.js';
import { seasonOf } from '../../src/visit/season.js';
import { seasonResult } from '../../src/visit/seasonResult.js';
import { DAILY, STEPS, season } from './bundle.js';
import { type Row, timed } from './row.js';

const NOW = utcMs(DAILY.opened + 366 * 24 * 3_600_000);
const stores = new Map<number, ReturnType<typeof season>>();

/** Seconds that the season of so many visits takes from its store: facts folded, every cup judged, yards taken together. */
async function seconds(visits: number): Promise<number> {
  if (!stores.has(visits)) stores.set(visits, season(visits));
  const store = await stores.get(visits)!;
  const { seconds: taken, value } = await timed(() => {
    const all = seasonOf(store);
    return seasonResult(store, all, [...all.visits.values()], NOW);
  });
  if (value.yards.length < visits) throw new Error(`${value.yards.length} yards of ${visits} visits`);
  return taken;
}

export const rows: readonly Row[] = STEPS.slice(1).map((visits, index): Row => {
  const fewer = STEPS[index]!;
  return {
    name: `season: ${visits} visits of 12 cups, every cup judged`,
    against: `${fewer} visits, a tenth`,
    aim: { atMost: 15 },
    runs: 3,
    measure: async () => ({ other: await seconds(fewer), ours: await seconds(visits) }),
  };
});
