import { type CupCount, efficacyReport } from '../../shared/index.js';
import { seededChance } from '../../src/units/clock.js';
import { type Row, sameAnswer, timed } from './row.js';

const CUPS = 10;

function yards(count: number): CupCount[] {
  const chance = seededChance(7);
  return Array.from({ length: count * CUPS }, (_, index): CupCount => {
    const mites = Math.floor(chance.uniform() * 20);
    const tray = Math.floor(chance.uniform() * (mites + 1));
    return {
      yard: `y${Math.floor(index / CUPS)}`,
      cup: `c${index}`,
      kind: 'strip',
      tray,
      wash: mites - tray,
      bees: 300,
      arm: null,
      colony: null,
      group: null,
      ruling: 'valid',
    };
  });
}

/** The least that must be done: sum trays and mites of each yard. */
function bareLoop(cups: readonly CupCount[]): number {
  let total = 0;
  for (let at = 0; at < cups.length; at += CUPS) {
    let tray = 0;
    let mites = 0;
    for (let cup = at; cup < at + CUPS; cup += 1) {
      tray += cups[cup]!.tray!;
      mites += cups[cup]!.tray! + cups[cup]!.wash!;
    }
    if (mites > 0) total += tray / mites;
  }
  return total;
}

const growth = (count: number, before: number, runs: number): Row => ({
  name: `efficacy: ${count} yards`,
  against: `${before} yards, ${count / before} times as much`,
  aim: { atMost: (1.5 * count) / before },
  runs,
  async measure() {
    const [small, large] = [yards(before), yards(count)];
    const other = (await timed(() => efficacyReport(small))).seconds;
    const { seconds: ours, value } = await timed(() => efficacyReport(large));
    sameAnswer(
      'sum of efficacies',
      value.yards.reduce((sum, { efficacy }) => sum + (efficacy ?? 0), 0),
      bareLoop(large),
    );
    return { ours, other };
  },
});

export const rows: readonly Row[] = [
  growth(1000, 100, 5),
  growth(10_000, 1000, 3),
  // Minutes long, so once.
  growth(100_000, 10_000, 1),
];
