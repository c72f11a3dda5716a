import type { Observation } from '../../exposure/types.js';

/**
 * Readings thinned out for a drawing of so many columns: of each column the first, the coldest, the warmest and the last,
 * in their order. A dip of a single reading stays at its full depth, which a mean or every n-th reading would lose.
 *
 * @param readings in order of time
 */
export function reduced(readings: readonly Observation[], columns: number): Observation[] {
  const first = readings[0];
  const last = readings.at(-1);
  if (first === undefined || last === undefined || readings.length <= 4 * columns) return [...readings];
  const span = last.at - first.at;
  const columnOf = ({ at }: Observation) =>
    Math.min(columns - 1, Math.floor(((at - first.at) / span) * columns));
  const kept: Observation[] = [];
  for (let start = 0; start < readings.length; ) {
    const column = columnOf(readings[start]!);
    let [end, coldest, warmest] = [start, start, start];
    for (; end < readings.length && columnOf(readings[end]!) === column; end += 1) {
      if (readings[end]!.celsius < readings[coldest]!.celsius) coldest = end;
      if (readings[end]!.celsius > readings[warmest]!.celsius) warmest = end;
    }
    const chosen = new Set([start, coldest, warmest, end - 1]);
    kept.push(...[...chosen].sort((a, b) => a - b).map((index) => readings[index]!));
    start = end;
  }
  return kept;
}
