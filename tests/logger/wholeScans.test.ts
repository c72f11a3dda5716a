import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { wholeScans } from '../../src/logger/wholeScans.js';

const scan = (number: number, part: string): CarrierEvent =>
  ({ kind: 'scan', board: 'B', bootCount: 1, scan: number, part }) as unknown as CarrierEvent;
const beat = { kind: 'heartbeat', part: 'beat' } as unknown as CarrierEvent;

function heard() {
  const groups: string[] = [];
  const scans = wholeScans((events) =>
    groups.push(events.map((event) => (event as unknown as { part: string }).part).join('')),
  );
  return { groups, scans };
}

describe('wholeScans()', () => {
  it('hands on the lines of one scan together, in order, once another thing comes', () => {
    const { groups, scans } = heard();
    for (const event of [scan(1, 'a'), scan(1, 'b'), beat, scan(2, 'c'), scan(3, 'd'), scan(3, 'e')])
      scans.take(event);
    expect(groups).toEqual(['ab', 'beat', 'c']);
    scans.flush();
    scans.flush();
    expect(groups).toEqual(['ab', 'beat', 'c', 'de']);
  });

  it('hands on a scan that nothing follows at the second tick, not between two of its lines', () => {
    const { groups, scans } = heard();
    scans.tick();
    scans.take(scan(1, 'a'));
    scans.tick();
    scans.take(scan(1, 'b'));
    expect(groups).toEqual([]);
    scans.tick();
    expect(groups).toEqual(['ab']);
    scans.tick();
    expect(groups).toHaveLength(1);
  });

  it('does not join a scan of another boot or board (negative control)', () => {
    const { groups, scans } = heard();
    scans.take(scan(1, 'a'));
    scans.take({ ...scan(1, 'b'), bootCount: 2 } as CarrierEvent);
    scans.take({ ...scan(1, 'c'), bootCount: 2, board: 'C' } as unknown as CarrierEvent);
    expect(groups).toEqual(['a', 'b']);
  });
});
