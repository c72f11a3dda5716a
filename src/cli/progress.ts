import type { Feed } from '../screen/feed.js';
import type { UtcMs } from '../units/time.js';
import { inZone } from '../units/zone.js';

/** One line about a moment of the ride, for where there is no screen. */
export function progressLine(feed: Feed, now: UtcMs, zone: string): string {
  const slots = feed.slots(now).filter(({ cup }) => cup !== null);
  const words = new Map<string, number>();
  for (const { cup } of slots) words.set(cup!.state.word, (words.get(cup!.state.word) ?? 0) + 1);
  const parts = [...words].map(([word, count]) => `${count} ${word}`);
  const waiting = feed.unseated(now).length;
  if (waiting > 0) parts.push(`${waiting} not seated`);
  const turned = [...feed.season.cups.values()].filter(({ turn }) => turn !== null && turn <= now).length;
  if (turned > 0) parts.push(`${turned} turned`);
  const alarms = slots.flatMap(({ carrier, slot, cup }) =>
    cup!.state.alarm ? [`${carrier}:${slot} ${cup!.state.alarm.text}`] : [],
  );
  const cups = `${slots.length} cup${slots.length === 1 ? '' : 's'} in slots`;
  return [
    inZone(now, zone).slice(11, 16),
    [cups, ...parts].join(', '),
    ...alarms.slice(0, 3),
    ...more(alarms.length - 3),
  ].join('; ');
}

const more = (count: number): string[] => (count > 0 ? [`and ${count} more alarms`] : []);
