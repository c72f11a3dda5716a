import { describe, expect, it } from 'vitest';
import { SteppedClock } from '../../src/carrier/emulated/steppedClock.js';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { flow } from '../../src/logger/flow.js';
import { minutes, seconds, utcMs } from '../../src/units/time.js';

const scan = (number: number): CarrierEvent =>
  ({ kind: 'scan', bootCount: 1, scan: number }) as unknown as CarrierEvent;

function watched() {
  const clock = new SteppedClock(utcMs(0));
  const said: string[] = [];
  const words = { unstored: null as string | null };
  const flowing = flow({
    sources: ['one', 'two'],
    clock,
    unstored: () => words.unstored,
    say: (sentence) => said.push(sentence),
  });
  return { clock, said, flowing, words };
}

describe('flow()', () => {
  it('says every five minutes how many scans came from each source, one of many lines once', () => {
    const { clock, said, flowing } = watched();
    for (const source of ['one', 'two'])
      for (const number of [1, 1, 2, 3]) flowing.heard(source, scan(number));
    clock.moveTo(seconds(290));
    flowing.heard('one', scan(4));
    clock.moveTo(minutes(5));
    expect(said).toEqual([
      'NOT ALL READINGS FLOW: in 5 min one 4 scans, the last 10 s ago; two 3 scans, the last 5 min ago',
    ]);
    flowing.stop();
    clock.moveTo(minutes(20));
    expect(said).toHaveLength(1);
  });

  it('says that readings flow when all do, and names a source that never did', () => {
    const { clock, said, flowing } = watched();
    clock.moveTo(minutes(4));
    flowing.heard('one', scan(1));
    clock.moveTo(minutes(5));
    expect(said[0]).toContain('two 0 scans, none since the start');
    clock.moveTo(minutes(9));
    for (const source of ['one', 'two']) flowing.heard(source, scan(2));
    // Another kind of line is no reading.
    flowing.heard('one', { kind: 'heartbeat' } as unknown as CarrierEvent);
    clock.moveTo(minutes(10));
    expect(said[1]).toBe(
      'readings flow: in 5 min one 1 scan, the last 60 s ago; two 1 scan, the last 60 s ago',
    );
  });

  it('does not say that readings flow while none can be stored', () => {
    const { clock, said, flowing, words } = watched();
    words.unstored = 'the disk is full.';
    for (const source of ['one', 'two']) flowing.heard(source, scan(1));
    clock.moveTo(minutes(5));
    expect(said).toEqual([
      'NOTHING CAN BE STORED (the disk is full), of what comes: in 5 min one 1 scan, the last 5 min ago; two 1 scan, the last 5 min ago',
    ]);
  });
});
