import { describe, expect, it } from 'vitest';
import { CONTROLS, type Controls, type Key, pressed } from '../../src/screen/controls.js';

const REACH = { pages: 3, lines: 30, shown: 10 };

describe('pressed()', () => {
  it.each<[Partial<Controls>, Key, Partial<Controls>]>([
    [{ unit: 'C' }, 'unit', { unit: 'F' }],
    [{ unit: 'F' }, 'unit', { unit: 'C' }],
    [{ muted: false }, 'mute', { muted: true }],
    [{ muted: true }, 'mute', { muted: false }],
    [{ theme: 'shade' }, 'theme', { theme: 'sun' }],
    [{ theme: 'sun' }, 'theme', { theme: 'shade' }],
    [{ page: 0 }, 'left', { page: 0 }],
    [{ page: 0 }, 'right', { page: 1 }],
    [{ page: 2 }, 'right', { page: 2 }],
    // The window has grown since: of three pages the last is shown, so one to the left is the second.
    [{ page: 7 }, 'left', { page: 1 }],
    [{ scroll: 0 }, 'up', { scroll: 0 }],
    [{ scroll: 0 }, 'down', { scroll: 1 }],
    [{ scroll: 20 }, 'down', { scroll: 20 }],
    [{ scroll: 25 }, 'up', { scroll: 19 }],
    [{ scroll: 3 }, 'page-down', { scroll: 13 }],
    [{ scroll: 13 }, 'page-down', { scroll: 20 }],
    [{ scroll: 3 }, 'page-up', { scroll: 0 }],
  ])('turns %j by %s into %j', (before, key, after) => {
    expect(pressed({ ...CONTROLS, ...before }, key, REACH)).toEqual({ ...CONTROLS, ...after });
  });

  it('acknowledges the alarms there are, and forgets those that are gone', () => {
    const before = { ...CONTROLS, acknowledged: new Set(['old']) };
    expect(pressed(before, 'acknowledge', { ...REACH, alarms: ['one', 'two'] }).acknowledged).toEqual(
      new Set(['one', 'two']),
    );
  });

  it('does not scroll when all lines are shown', () => {
    expect(pressed(CONTROLS, 'down', { pages: 1, lines: 3, shown: 10 })).toEqual(CONTROLS);
  });
});
