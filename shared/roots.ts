const STEPS_MAX = 100;

/** Where a function that is positive at `low` and negative at `high` crosses zero, by halving. */
export function crossing(f: (x: number) => number, low: number, high: number): number {
  let [a, b] = [low, high];
  for (let step = 0; step < STEPS_MAX; step += 1) {
    const middle = (a + b) / 2;
    if (middle <= a || middle >= b) break;
    if (f(middle) > 0) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}
