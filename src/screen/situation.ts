import type { Observation } from '../exposure/types.js';
import type { UtcMs } from '../units/time.js';
import type { CupView, SlotView } from '../visit/slots.js';
import type { AlarmRow } from './alarms.js';
import type { LoggerSign } from './loggerSign.js';
import type { Status } from './status.js';
import type { UnreadCup } from './unread.js';

/** All that the live screen shows at one moment. */
export interface Situation {
  readonly title: string;
  readonly at: UtcMs;
  /** In which times of day are told. */
  readonly zone: string;
  readonly clock: string;
  readonly logger: LoggerSign;
  readonly slots: readonly SlotView[];
  readonly unseated: readonly CupView[];
  /** The trustworthy readings of a probe, in order of time, as far back as they are held. */
  readonly observationsOf: (rom: string) => readonly Observation[];
  readonly unread: readonly UnreadCup[];
  readonly alarms: readonly AlarmRow[];
  readonly status: Status;
  /** Why what is shown is not up to date; null when it is. */
  readonly problem: string | null;
}
