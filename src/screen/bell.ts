import type { Alarm } from '../exposure/live.js';
import type { AlarmRow } from './view.js';

/** What tells an alarm from others: of another level, or of another cup, it is another alarm. */
export const alarmId = ({ level, cup }: AlarmRow): string => `${level} ${cup}`;

/** Which cups were in alarm at the last look, each with its level. */
export type Sounded = ReadonlySet<string>;

export interface Bell {
  /** What to sound now; null is silence. */
  readonly sound: Alarm['level'] | null;
  readonly sounded: Sounded;
}

/** How often the terminal's bell rings for each of the two sounds. */
export const STROKES: Readonly<Record<Alarm['level'], number>> = { 'act-now': 2, due: 1 };

/**
 * Sounds once for each alarm that was not there at the last look. When both kinds are new at once, only the one
 * that cannot wait sounds. An alarm that begins while muted stays silent later.
 */
export function bell(before: Sounded, alarms: readonly AlarmRow[], muted: boolean): Bell {
  const sounded = new Set(alarms.map(alarmId));
  const fresh = alarms.filter((alarm) => !before.has(alarmId(alarm)));
  if (muted || fresh.length === 0) return { sound: null, sounded };
  return { sound: fresh.some(({ level }) => level === 'act-now') ? 'act-now' : 'due', sounded };
}
