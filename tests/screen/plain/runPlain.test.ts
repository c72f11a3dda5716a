import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type PlainOptions, printable, runPlain } from '../../../src/screen/plain/runPlain.js';
import type { Clock } from '../../../src/units/clock.js';
import { monotonicMs, seconds, type UtcMs } from '../../../src/units/time.js';
import { at, fillStore, lifted, SHOWN_AT, seated, storeInFolder } from '../invented.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
});
afterEach(() => folder.remove());

/** Runs for so many looks; `between` does something before the second, third, ... of them. */
async function lines(
  looks: number,
  between: (look: number) => void = () => {},
  given: Partial<PlainOptions> = {},
): Promise<string[]> {
  const said: string[] = [];
  let look = 1;
  let now: UtcMs = SHOWN_AT;
  const clock: Clock = {
    utc: () => now,
    monotonic: () => monotonicMs(now),
    steady: () => monotonicMs(now),
    every: () => () => {},
    sleep: async () => {
      look += 1;
      now = at(181 + 2 * (look - 1));
      folder.store.setLogger({ pid: 1, beat: now, now, speed: 1, state: 'logging' });
      between(look);
    },
  };
  folder.store.setLogger({ pid: 1, beat: now, now, speed: 1, state: 'logging' });
  await runPlain({
    store: folder.store,
    now: () => now,
    clock,
    title: 'stillwarm',
    zone: 'UTC',
    period: seconds(1),
    unit: 'C',
    isUnicode: true,
    say: (line) => said.push(line),
    finished: () => look >= looks,
    signal: new AbortController().signal,
    ...given,
  });
  return said;
}

describe('runPlain()', () => {
  it('tells what a store holds, each thing once, with the time of day in the zone of the visit', async () => {
    const said = await lines(1);
    // 181 minutes after 5:00 UTC in Berlin's summer (tests/screen/invented.ts).
    expect(said.every((line) => line.startsWith('10:01 '))).toBe(true);
    expect(said.join('\n')).toMatch(/DUE: slot A:4, cup 260512-04/);
    expect(said.join('\n')).toMatch(/Cup 260512-01, colony c01, yard sedge-12: in slot A:1, warm, 27\.5°C/);
    expect(new Set(said).size).toBe(said.length);
  });

  it('adds what changes and repeats nothing', async () => {
    const before = await lines(1);
    const after = await lines(3, (look) => {
      if (look === 2) folder.store.append(at(182), lifted('260512-01', 181.5));
      if (look === 3) folder.store.append(at(184), seated('260512-01', 'A', 6, 183.5));
    });
    const fresh = after.slice(before.length);
    expect(after.slice(0, before.length)).toEqual(before);
    expect(fresh.filter((line) => line.includes('260512-01, colony'))).toEqual([
      expect.stringMatching(/^10:03 .*260512-01.* in no slot/),
      expect.stringMatching(/^10:05 .*260512-01.* in slot A:6/),
    ]);
    expect(new Set(after).size).toBe(after.length);
  });

  it('tells that the store cannot be read, and goes on', async () => {
    const said = await lines(2, () => folder.store.close());
    expect(said.at(-1)).toMatch(/^10:01 This screen is old/);
  });

  it('prints ASCII only where there is no more', async () => {
    const said = await lines(1, undefined, { isUnicode: false });
    expect(said.join('\n')).toMatch(/^[ -~\n]+$/);
    expect(said.join('\n')).toContain('warm, 27.5 C');
    expect((await lines(1)).join('\n')).not.toMatch(/^[ -~\n]+$/);
  });

  it('stops when nobody wants to hear more', async () => {
    const stop = new AbortController();
    stop.abort();
    expect(await lines(5, undefined, { signal: stop.signal })).toEqual([]);
  });
});

describe('printable()', () => {
  it('takes out what moves a cursor, rings or colours', () => {
    expect(printable('a\u001b[31mb\u0007c\r\nd\u009be')).toBe('a [31mb c d e');
    expect(printable('27.5°C')).toBe('27.5°C');
  });
});
