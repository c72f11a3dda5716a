/**
 * One figure of the benchmark: what our code takes, held against a limit or a peer measured in the same run
 * on the same machine, so that the ratio means something elsewhere.
 */
export interface Row {
  readonly name: string;
  /** What the ratio is taken against, in words. */
  readonly against: string;
  /** The ratio aimed at, with its sense; null when there is no aim. */
  readonly aim: { readonly atMost: number } | { readonly atLeast: number } | null;
  /** How often the pair is measured; the figure is the median of the ratios. */
  readonly runs: number;
  /** What both are counted in, seconds unless told. */
  readonly unit?: string;
  /** Measures both, in that unit; throws when the two do not give the same answer. */
  measure(): Promise<Pair>;
}

export interface Pair {
  readonly ours: number;
  readonly other: number;
}

export interface Figure {
  readonly name: string;
  readonly against: string;
  readonly ratio: number;
  readonly runs: number;
  /** The smallest and the largest ratio of the runs. */
  readonly spread: readonly [number, number];
  readonly unit: string;
  readonly ours: number;
  readonly other: number;
  readonly aim: string;
  readonly met: boolean | null;
  /** The most memory the row's process took, MiB. */
  readonly peakMiB: number;
}

/** Takes a row's figure: `at least` aims are other / ours (how many times faster), `at most` ours / other. */
export async function figureOf(row: Row, peakMiB: () => number): Promise<Figure> {
  const faster = row.aim !== null && 'atLeast' in row.aim;
  const pairs: Pair[] = [];
  for (let run = 0; run < row.runs; run += 1) pairs.push(await row.measure());
  const ratios = pairs.map(({ ours, other }) => (faster ? other / ours : ours / other));
  const ratio = median(ratios);
  return {
    name: row.name,
    against: row.against,
    ratio,
    runs: row.runs,
    spread: [Math.min(...ratios), Math.max(...ratios)],
    unit: row.unit ?? 's',
    ours: median(pairs.map(({ ours }) => ours)),
    other: median(pairs.map(({ other }) => other)),
    aim: row.aim === null ? '' : 'atLeast' in row.aim ? `>= ${row.aim.atLeast}` : `<= ${row.aim.atMost}`,
    met: row.aim === null ? null : 'atLeast' in row.aim ? ratio >= row.aim.atLeast : ratio <= row.aim.atMost,
    peakMiB: peakMiB(),
  };
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Seconds that a task takes, and what it gives. */
export async function timed<T>(task: () => T | Promise<T>): Promise<{ seconds: number; value: T }> {
  const begun = performance.now();
  const value = await task();
  return { seconds: (performance.now() - begun) / 1000, value };
}

/** Throws unless two answers are the same to a relative 1e-9. */
export function sameAnswer(what: string, ours: number, other: number): void {
  if (!(Math.abs(ours - other) <= 1e-9 * Math.max(1, Math.abs(other))))
    throw new Error(`${what}: ${ours} is not ${other}`);
}
