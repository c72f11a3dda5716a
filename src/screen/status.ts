import type { MirrorRow } from '../store/outbox.js';
import { type DurationMs, durationMs, inMinutes, MS_PER_SECOND, seconds } from '../units/time.js';
import { fitted, type Line, type Span, span, widthOf } from './line.js';

/** How the things behind the screen are doing. */
export interface Status {
  /** Each carrier with the age of what was last read of it; null when nothing ever was. */
  readonly carriers: readonly { readonly name: string; readonly age: DurationMs | null }[];
  readonly clocks: readonly ClockSign[];
  /** Null when there is no mirror. */
  readonly mirror: (Pick<MirrorRow, 'state'> & { readonly behind: number }) | null;
  /** Free bytes where the store is; null when unknown. */
  readonly diskFree: number | null;
  /** How far this computer's clock is behind what it has recorded; null when it is not. */
  readonly behindRecord: DurationMs | null;
}

/** What is known of the clock of a carrier's board. */
export interface ClockSign {
  readonly name: string;
  /** `absent` is no fault: a board without a clock chip keeps time while it is read. */
  readonly state: 'absent' | 'running' | 'stopped';
  /** Board minus host when last compared, milliseconds; null when never. */
  readonly differenceMs: number | null;
}

export const NO_STATUS: Status = {
  carriers: [],
  clocks: [],
  mirror: null,
  diskFree: null,
  behindRecord: null,
};

/** A board that sends nothing for this long is not connected: three scans of the slowest kind with a host (j). */
export const LOST_AFTER = seconds(75);
/** As the check-up has it: a board's clock further off proves no times. */
const CLOCK_OFF_MAX_MS = 2000;
/** As the check-up has them. */
const DISK_LOW = 1_000_000_000;
const DISK_FULL = 100_000_000;
/** A mirror that is a minute of two carriers behind is catching up; more is told louder (j). */
const BEHIND_MUCH = 1000;

/** Something that is wrong behind the screen. */
export interface Trouble {
  /** What it is with; one thing has one trouble at a time. */
  readonly about: string;
  /** What is wrong; stays while the numbers in `text` move. */
  readonly kind: string;
  readonly text: string;
  /** What is so once it is over, as a sentence. */
  readonly over: string;
}

/** One thing to say, and whether it is trouble. */
interface Sign {
  readonly span: Span;
  readonly trouble: Trouble | null;
}

const fine = (text: string): Sign => ({ span: span(text, 'quiet'), trouble: null });
const wrong = (tone: 'watch' | 'alarm', trouble: Trouble): Sign => ({
  span: span(trouble.text, tone),
  trouble,
});

/** How long ago something was, in short. */
export function ageText(age: DurationMs): string {
  const s = Math.max(0, Math.floor(age / MS_PER_SECOND));
  if (s < 120) return `${s} s`;
  const minutes = Math.floor(inMinutes(age));
  if (minutes < 120) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
}

/** The age of the latest reading of any carrier, null when nothing was read. */
export function lastRead({ carriers }: Status): DurationMs | null {
  const ages = carriers.flatMap(({ age }) => (age === null ? [] : [age]));
  return ages.length === 0 ? null : durationMs(Math.min(...ages));
}

/** What is wrong, in the order in which it is shown. */
export const troublesOf = (status: Status): Trouble[] =>
  signsOf(status).flatMap(({ trouble }) => (trouble === null ? [] : [trouble]));

const signsOf = ({ carriers, clocks, mirror, diskFree, behindRecord }: Status): Sign[] => [
  ...computerSign(behindRecord),
  ...carriers.map(carrierSign),
  ...clockSigns(clocks),
  ...mirrorSign(mirror),
  ...diskSign(diskFree),
];

function computerSign(behind: DurationMs | null): Sign[] {
  if (behind === null) return [];
  const about = { about: 'clock of this computer', over: 'This computer is no longer behind its records.' };
  const text = `this computer's clock is ${ageText(behind)} behind its records`;
  return [wrong('alarm', { ...about, kind: 'behind', text })];
}

function carrierSign({ name, age }: Status['carriers'][number]): Sign {
  const about = { about: `carrier ${name}`, over: `${name} is read again.` };
  if (age === null) return wrong('watch', { ...about, kind: 'never', text: `${name} never read` });
  return age > LOST_AFTER
    ? wrong('alarm', { ...about, kind: 'lost', text: `${name} not read for ${ageText(age)}` })
    : fine(`${name} read ${ageText(age)} ago`);
}

function clockSigns(clocks: readonly ClockSign[]): Sign[] {
  if (clocks.length === 0) return [];
  const signs = clocks.flatMap(({ name, state, differenceMs }) => {
    const about = { about: `clock of ${name}`, over: `Clock of ${name} is right again.` };
    if (state === 'stopped')
      return [wrong('watch', { ...about, kind: 'stopped', text: `clock of ${name} stopped` })];
    if (differenceMs === null || Math.abs(differenceMs) <= CLOCK_OFF_MAX_MS) return [];
    const off = `${Math.round(Math.abs(differenceMs) / MS_PER_SECOND)} s off`;
    return [wrong('watch', { ...about, kind: 'off', text: `clock of ${name} ${off}` })];
  });
  if (signs.length > 0) return signs;
  return [fine(clocks.some(({ state }) => state === 'absent') ? 'no clock on board' : 'clocks right')];
}

function mirrorSign(mirror: Status['mirror']): Sign[] {
  if (mirror === null) return [];
  const { state, behind } = mirror;
  const by = `${behind} reading${behind === 1 ? '' : 's'} behind`;
  const about = { about: 'mirror', over: 'The mirror is no longer behind or stopped.' };
  if (state === 'stopped')
    return [wrong('watch', { ...about, kind: 'stopped', text: `mirror stopped, ${by}` })];
  if (behind === 0) return [fine('mirror up to date')];
  if (behind <= BEHIND_MUCH) return [fine(`mirror ${by}`)];
  return [wrong('watch', { ...about, kind: 'behind', text: `mirror ${by}` })];
}

function diskSign(free: number | null): Sign[] {
  if (free === null) return [];
  const text = free < 1e9 ? `${Math.floor(free / 1e6)} MB` : `${Math.floor(free / 1e9)} GB`;
  const about = { about: 'disk', over: 'The disk has room again.' };
  if (free < DISK_FULL)
    return [wrong('alarm', { ...about, kind: 'full', text: `disk nearly full, ${text} free` })];
  return free < DISK_LOW
    ? [wrong('watch', { ...about, kind: 'low', text: `disk low, ${text} free` })]
    : [fine(`disk ${text} free`)];
}

/** All of it in one line, what is wrong first; what does not fit is left out from the end and counted. */
export function statusLine(status: Status, width: number): Line {
  const signs = signsOf(status);
  return inOneLine(
    [...signs.filter(({ trouble }) => trouble !== null), ...signs.filter(({ trouble }) => trouble === null)],
    width,
  );
}

/** Only what is wrong, empty when nothing is. */
export const troubleLine = (status: Status, width: number): Line =>
  inOneLine(
    signsOf(status).filter(({ trouble }) => trouble !== null),
    width,
  );

const BETWEEN = '  ';

function inOneLine(signs: readonly Sign[], width: number): Line {
  const line: Span[] = [];
  for (const [index, { span: own }] of signs.entries()) {
    const next = line.length === 0 ? [own] : [span(BETWEEN), own];
    const left = signs.length - index - 1;
    const tail = left > 0 ? `  +${left}`.length : 0;
    if (widthOf(line) + widthOf(next) + tail > width) {
      if (line.length === 0) return [{ ...own, text: fitted(own.text, width) }];
      return [...line, span(fitted(`${BETWEEN}+${left + 1}`, width - widthOf(line)), 'quiet')];
    }
    line.push(...next);
  }
  return line;
}
