import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Hindered } from '../../src/screen/loggerSign.js';
import { lookoutOn } from '../../src/screen/lookout.js';
import { troublesOf } from '../../src/screen/status.js';
import { monotonicMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';
import { at, loaded, probeAssigned, seated, storeInFolder, turned, visitOpened } from './invented.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
});
afterEach(() => folder.remove());

/** What is seen three hours on, a minute after the first look; nobody ever logged. */
function seen(hindered: Hindered | null = null) {
  let ms = 0;
  const lookout = lookoutOn({
    store: folder.store,
    now: () => at(180),
    clock: { utc: () => at(180), monotonic: () => monotonicMs(ms) },
    title: 'stillwarm',
    zone: 'UTC',
    hindered: () => hindered,
  });
  lookout.look();
  ms = 60_000;
  const { logger, alarms } = lookout.look();
  return { words: logger.words, silent: logger.silent, alarms: alarms.map(({ kind }) => kind) };
}

/** What the line below says of this computer, which takes it for three hours after the story's beginning. */
const saidOfComputer = (recorded: number) => {
  record(folder.store, at(recorded), () => [visitOpened()]);
  const lookout = lookoutOn({
    store: folder.store,
    now: () => at(180),
    clock: { utc: () => at(180), monotonic: () => monotonicMs(0) },
    title: 'stillwarm',
    zone: 'UTC',
  });
  return troublesOf(lookout.look().status).map(({ text }) => text);
};

describe('lookoutOn()', () => {
  it.each([
    [300, ["this computer's clock is 2 h behind its records"]],
    [180, []],
  ])(
    'says when this computer is behind what was recorded (in minute %i of a story, seen in minute 180)',
    (recorded, said) => {
      expect(saidOfComputer(recorded)).toEqual(said);
    },
  );

  it('misses a logger only while a cup rides', () => {
    record(folder.store, at(600), () => [
      visitOpened(),
      probeAssigned('A', 1),
      loaded('260512-01', 0),
      seated('260512-01', 'A', 1, 1),
    ]);
    expect(seen()).toMatchObject({ silent: true, words: 'no sign of the logger for 60 s' });
    expect(seen().alarms[0]).toBe('silent-logger');
    record(folder.store, at(600), () => [turned('260512-01', 179)]);
    expect(seen()).toEqual({ silent: false, words: 'no logger at work', alarms: [] });
    folder.store.setLogger({ pid: 1, beat: at(180), now: at(180), speed: 1, state: 'running' });
    expect(seen('full')).toMatchObject({ silent: true, alarms: ['silent-logger'] });
  });
});
