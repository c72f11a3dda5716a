import { describe, expect, it } from 'vitest';
import { layOut, overlap } from '../../src/exposure/timeline.js';
import type { Observation } from '../../src/exposure/types.js';
import { at, from, LOAD, seating, steady, trace } from './traces.js';

const WINDOW = { from: LOAD, to: at(10) };

describe('layOut()', () => {
  it('covers the window with stretches in order, without overlap, gaps merged', () => {
    const readings = { P: trace([1, 20], [2, 21], [5, 19], [8, 18], [9, 18]) };
    const { stretches } = layOut('A', WINDOW, [seating('P', 0, 9.5, 0.5)], from(readings), 60);
    const minute = (ms: number) => ms / 60_000;
    // the reading at 5 has no neighbour within a minute: part of the gap from 2 to 8
    expect(stretches.map(({ kind, from, to }) => [kind, minute(from), minute(to)])).toEqual([
      ['observed', 0, 1],
      ['observed', 1, 2],
      ['gap', 2, 8],
      ['observed', 8, 9],
      ['observed', 9, 9.5],
      ['gap', 9.5, 10],
    ]);
    expect(stretches[1]).toMatchObject({ first: 20, last: 21, uncertainty: 0.5 });
  });

  it('takes seatings in any order', () => {
    const readings = from({ P: steady(0, 10, 20), Q: steady(0, 10, 21) });
    const lay = (seatings: ReturnType<typeof seating>[]) => layOut('A', WINDOW, seatings, readings, 60);
    expect(lay([seating('Q', 5, 10), seating('P', 0, 5)])).toEqual(
      lay([seating('P', 0, 5), seating('Q', 5, 10)]),
    );
  });

  it('has no stretch in a window of no length', () => {
    const { stretches, readings } = layOut(
      'A',
      { from: LOAD, to: LOAD },
      [seating('P', 0, 5)],
      from(steady(0, 5, 20)),
      60,
    );
    expect(stretches).toEqual([]);
    expect(readings).toEqual(trace([0, 20]));
  });

  it('names cup, probes and instant of seatings that overlap', () => {
    expect(() => layOut('A', WINDOW, [seating('P', 0, 5), seating('Q', 4, 10)], from([]), 60)).toThrow(
      /cup A sits in two slots at once, from 2026-05-01T06:04:00\.000Z on \(probes P and Q\)/,
    );
  });

  it('looks only at the readings inside the seatings, however many there are', () => {
    const many = steady(0, 60 * 24 * 10, 20, 60);
    let touched = 0;
    const watched = new Proxy(many, {
      get(target, key) {
        if (typeof key === 'string' && /^\d+$/.test(key)) touched += 1;
        return Reflect.get(target, key) as unknown;
      },
    }) as readonly Observation[];
    layOut('A', { from: at(7000), to: at(7010) }, [seating('P', 7000, 7010)], () => watched, 60);
    // two binary searches among 14,401 readings and the 11 readings inside
    expect(touched).toBeLessThanOrEqual(2 * 14 + 11);
  });
});

describe('overlap()', () => {
  it('finds seatings that share more than an instant', () => {
    const [a, b, c] = [seating('P', 0, 5), seating('Q', 5, 10), seating('R', 9, 12)];
    expect(overlap([a, b])).toBeNull();
    expect(overlap([c, a, b])).toEqual([b, c]);
    expect(overlap([a, a])).toEqual([a, a]);
    expect(overlap([])).toBeNull();
  });
});
