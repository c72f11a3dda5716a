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
}

/** What is known of the clock of a carrier's board. */
export interface ClockSign {
  readonly name: string;
  /** `absent` is no fault: a board without a clock chip keeps time while it is read. */
  readonly state: 'absent' | 'running' | 'stopped';
  /** Board minus host when last compared, milliseconds; null when never. */
  readonly differenceMs: number | null;
}

export const NO_STATUS: Status = { carriers: [], clocks: [], mirror: null, diskFree: null };

/** A board that sends nothing for this long is not connected: three scans of the slowest kind with a host (j). */
export const LOST_AFTER = seconds(75);
/** As the check-up has it: a board's clock further off proves no times. */
const CLOCK_OFF_MAX_MS = 2000;
/** As the check-up has them. */
const DISK_LOW = 1_000_000_000;
const DISK_FULL = 100_000_000;
/** A mirror that is a minute of two carriers behind is catching up; more is told louder (j). */
const BEHIND_MUCH = 1000;

/** One thing to say, and whether it is trouble. */
interface Sign {
  readonly span: Span;
  readonly isTrouble: boolean;
}

const sign = (text: string, tone: Span['tone'] = 'quiet'): Sign => ({
  span: span(text, tone),
  isTrouble: tone === 'alarm' || tone === 'watch',
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

function signsOf({ carriers, clocks, mirror, diskFree }: Status): Sign[] {
  return [
    ...carriers.map(({ name, age }) => {
      if (age === null) return sign(`${name} never read`, 'watch');
      return age > LOST_AFTER
        ? sign(`${name} not read for ${ageText(age)}`, 'alarm')
        : sign(`${name} read ${ageText(age)} ago`);
    }),
    ...clockSigns(clocks),
    ...mirrorSign(mirror),
    ...diskSign(diskFree),
  ];
}

function clockSigns(clocks: readonly ClockSign[]): Sign[] {
  if (clocks.length === 0) return [];
  const wrong = clocks.flatMap(({ name, state, differenceMs }) => {
    if (state === 'stopped') return [sign(`clock of ${name} stopped`, 'watch')];
    if (differenceMs === null || Math.abs(differenceMs) <= CLOCK_OFF_MAX_MS) return [];
    return [sign(`clock of ${name} ${Math.round(Math.abs(differenceMs) / MS_PER_SECOND)} s off`, 'watch')];
  });
  if (wrong.length > 0) return wrong;
  return [sign(clocks.some(({ state }) => state === 'absent') ? 'no clock on board' : 'clocks right')];
}

function mirrorSign(mirror: Status['mirror']): Sign[] {
  if (mirror === null) return [];
  const { state, behind } = mirror;
  const by = `${behind} reading${behind === 1 ? '' : 's'} behind`;
  if (state === 'stopped') return [sign(`mirror stopped, ${by}`, 'watch')];
  if (behind === 0) return [sign('mirror up to date')];
  return [sign(`mirror ${by}`, behind > BEHIND_MUCH ? 'watch' : 'quiet')];
}

function diskSign(free: number | null): Sign[] {
  if (free === null) return [];
  const text = free < 1e9 ? `${Math.floor(free / 1e6)} MB` : `${Math.floor(free / 1e9)} GB`;
  if (free < DISK_FULL) return [sign(`disk nearly full, ${text} free`, 'alarm')];
  return free < DISK_LOW ? [sign(`disk low, ${text} free`, 'watch')] : [sign(`disk ${text} free`)];
}

/** All of it in one line, what is wrong first; what does not fit is left out from the end and counted. */
export function statusLine(status: Status, width: number): Line {
  const signs = signsOf(status);
  return inOneLine(
    [...signs.filter(({ isTrouble }) => isTrouble), ...signs.filter((one) => !one.isTrouble)],
    width,
  );
}

/** Only what is wrong, empty when nothing is. */
export const troubleLine = (status: Status, width: number): Line =>
  inOneLine(
    signsOf(status).filter(({ isTrouble }) => isTrouble),
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
