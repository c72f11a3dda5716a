import type { Interval } from '../../../shared/index.js';
import { told } from '../../exposure/reasons.js';
import type { Bounds } from '../../exposure/types.js';

/** How figures are told in a lab report. Nothing known is a dash, never 0. */
export const DASH = '–';

/** Keeps a figure and its unit on one line. */
const TOGETHER = '\u00a0';
/** Forbids the break that a dash allows after it. */
const JOINED = '\u2060';

export const share = (value: number | null): string =>
  value === null ? DASH : `${(value * 100).toFixed(1)}${TOGETHER}%`;

export const interval = (limits: Interval | null): string =>
  limits === null
    ? DASH
    : `${(limits[0] * 100).toFixed(1)} to${TOGETHER}${(limits[1] * 100).toFixed(1)}${TOGETHER}%`;

export const figure = (value: number | null | undefined, decimals: number): string =>
  value === null || value === undefined ? DASH : value.toFixed(decimals);

export const count = (value: number | null): string => (value === null ? 'not read' : String(value));

/** Minutes with one decimal, or as many as it takes beside a limit: a column of them lines up. */
export const minutesTold = (value: number, limits: readonly number[] = []): string => {
  const text = told(value, limits);
  return text.includes('.') ? text : `${text}.0`;
};

/** Minutes at least and at most, exact about the limit they are held against. */
export const bounds = ({ certain, possible }: Bounds, limit: number): string =>
  `${minutesTold(certain, [limit])}${TOGETHER}–${JOINED}${TOGETHER}${minutesTold(possible, [limit])}`;

export const plural = (number: number, one: string, several: string): string =>
  `${number} ${number === 1 ? one : several}`;
