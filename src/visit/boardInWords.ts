import type { Fact } from '../store/facts.js';
import { MS_PER_MINUTE, type UtcMs } from '../units/time.js';
import type { BootRead } from './boardDay.js';

const RESETS: Readonly<Record<string, string>> = {
  'power-on': 'its supply was switched on',
  'brown-out': 'its supply had sagged',
  external: 'its reset was pulled, by the button or a host that opened the port',
  watchdog: 'its program had hung',
  unknown: 'for a reason it does not know',
};

const CLOCKS: Readonly<Record<string, string>> = {
  absent: 'no clock answers',
  running: 'its clock runs',
  stopped: 'its clock had lost its time',
};

/** Why a board started. */
export const resetInWords = (cause: string): string => RESETS[cause] ?? cause;
/** What a board said of its clock when it started. */
export const clockStateInWords = (state: string): string => CLOCKS[state] ?? state;

/** What a board warned of: the meaning of `detail` hangs on the warning. `probe` names the one it tells of, where it is known. */
export function warningInWords(
  warning: string,
  detail: number,
  probe = `probe ${detail} of its table`,
): string {
  const words: Readonly<Record<string, string>> = {
    'log-nearly-full': `its log was nearly full: room for ${detail} pages before unread ones are lost`,
    'log-overwritten': `${detail} pages of its log were overwritten that no host had read: they are lost`,
    'memory-lost': 'its memory does not answer: only what its RAM holds could be read',
    'memory-back': 'its memory answered again',
    'clock-lost': 'its clock does not answer',
    'probe-lost': `${probe} stopped answering`,
  };
  return words[warning] ?? `warned: ${warning} (${detail})`;
}

const UNITS = [
  { name: 'days', ms: 24 * 60 * MS_PER_MINUTE },
  { name: 'h', ms: 60 * MS_PER_MINUTE },
  { name: 'min', ms: MS_PER_MINUTE },
] as const;

/** How far a clock was off, to be followed by what from: in seconds, and in larger units from two of them on. */
export function clockOffInWords(differenceMs: number): string {
  const off = Math.abs(differenceMs);
  const { name, ms } = UNITS.find((unit) => off >= 2 * unit.ms) ?? { name: 's', ms: 1000 };
  return `${(off / ms).toFixed(1)} ${name} ${differenceMs < 0 ? 'behind' : 'ahead of'}`;
}

/** @param when writes an instant for people */
export const disprovedInWords = (
  { boot, differenceMs, at }: Extract<Fact, { type: 'clock-disproved' }>,
  when: (at: UtcMs) => string,
): string =>
  `boot ${boot}: at ${when(at)} its clock was ${clockOffInWords(differenceMs)} what its counter comes to, and was set since: what it told until then proves nothing`;

/** How well the place of a boot's scans in time is known, and which of them are used. */
export function bootTimeInWords(
  { provenBy, withinMs, unproven, proven }: BootRead,
  when: (at: UtcMs) => string,
): string {
  const first = proven[0];
  if (first === undefined) return 'WHEN IS NOT PROVEN: kept, not used';
  const others = unproven === 0 ? '' : `WHEN IS NOT PROVEN of ${unproven} scans: kept, not used`;
  const used =
    provenBy === 'nothing'
      ? `${proven.length} ${proven.length === 1 ? 'is' : 'are'} proven and used, from ${when(first)} on`
      : `time by ${provenBy}, within ${((withinMs ?? 0) / 1000).toFixed(1)} s`;
  return [others, used].filter((words) => words !== '').join('; ');
}
