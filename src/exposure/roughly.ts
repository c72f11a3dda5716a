/** From here on fives are told, then hours: nobody acts on less, and nobody knows better (j). */
const FIVES_FROM_MINUTES = 20;
const HOURS_FROM_MINUTES = 120;

/**
 * A length of time for people who have to act: whole minutes, later fives and hours.
 *
 * @param round down for a time that is left, so that nobody is told more than there is
 */
export function roughly(minutes: number, round: (count: number) => number = Math.round): string {
  if (minutes < HOURS_FROM_MINUTES) {
    const step = minutes < FIVES_FROM_MINUTES ? 1 : 5;
    const told = round(minutes / step) * step;
    return told < 1 ? 'less than a minute' : `about ${told} min`;
  }
  return `about ${round(minutes / 60)} h`;
}
