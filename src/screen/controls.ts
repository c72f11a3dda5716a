import type { Unit } from './view.js';

/** What people have set with keys. */
export interface Controls {
  readonly unit: Unit;
  readonly muted: boolean;
  /** Page of carriers, from 0. */
  readonly page: number;
  /** First line of the results that is shown, from 0. */
  readonly scroll: number;
  readonly theme: Theme;
  /** The alarms that people have said they know of, by id; they sound no more. */
  readonly acknowledged: ReadonlySet<string>;
}

/** How the screen is coloured: for a window in the shade, or for one in the sun. */
export type Theme = 'shade' | 'sun';

export const CONTROLS: Controls = {
  unit: 'C',
  muted: false,
  page: 0,
  scroll: 0,
  theme: 'shade',
  acknowledged: new Set(),
};

/** Keys that turn pages and scroll. */
const MOVES = ['left', 'right', 'up', 'down', 'page-up', 'page-down'] as const;
export type Move = (typeof MOVES)[number];
export const isMove = (key: unknown): key is Move => (MOVES as readonly unknown[]).includes(key);

export type Key = 'unit' | 'mute' | 'theme' | 'acknowledge' | 'more' | Move;

/** How far a key can go. */
export interface Reach {
  readonly pages: number;
  /** Lines of results, and how many of them the window shows. */
  readonly lines: number;
  readonly shown: number;
  /** The ids of the alarms there are. */
  readonly alarms?: readonly string[];
}

/** The controls after a key; a key that has nothing to do changes nothing. */
export function pressed(controls: Controls, key: Key, { pages, lines, shown, alarms = [] }: Reach): Controls {
  const page = (to: number): Controls => ({ ...controls, page: within(to, pages - 1) });
  const scroll = (by: number): Controls => {
    // The window may have grown since: count from what is really shown.
    const from = within(controls.scroll, lines - shown);
    return { ...controls, scroll: within(from + by, lines - shown) };
  };
  switch (key) {
    case 'unit':
      return { ...controls, unit: controls.unit === 'C' ? 'F' : 'C' };
    case 'mute':
      return { ...controls, muted: !controls.muted };
    case 'theme':
      return { ...controls, theme: controls.theme === 'shade' ? 'sun' : 'shade' };
    case 'acknowledge':
      // Only what there is now: an alarm that comes again is a new one.
      return { ...controls, acknowledged: new Set(alarms) };
    case 'left':
      return page(within(controls.page, pages - 1) - 1);
    case 'right':
      return page(controls.page + 1);
    case 'up':
      return scroll(-1);
    case 'down':
      return scroll(1);
    case 'more':
      // One key for all that does not fit: after the last comes the first.
      if (lines === 0) return { ...controls, page: (within(controls.page, pages - 1) + 1) % pages };
      return controls.scroll >= lines - shown ? { ...controls, scroll: 0 } : scroll(shown);
    case 'page-up':
      return scroll(-shown);
    case 'page-down':
      return scroll(shown);
  }
}

const within = (value: number, max: number): number => Math.max(0, Math.min(value, max));
