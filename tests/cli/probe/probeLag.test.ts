import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { CheckFailed } from '../../../src/cli/checkFailed.js';
import type { Context } from '../../../src/cli/context.js';
import { EXIT } from '../../../src/cli/main.js';
import type { BenchSession } from '../../../src/cli/probe/benchSession.js';
import { lag } from '../../../src/cli/probe/probeLag.js';
import { probeIn } from '../../../src/emulator/scenarios/carriers.js';
import type { RomId } from '../../../src/units/ids.js';
import { parseBoardId } from '../../../src/units/ids.js';
import { Refusal } from '../../../src/units/refusal.js';
import { celsius } from '../../../src/units/temperature.js';
import { later, minutes, seconds } from '../../../src/units/time.js';
import type { Scan } from '../../../src/visit/scans.js';
import { probeAssigned, SEVEN, storeInFolder } from '../../screen/invented.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
  folder.store.append(SEVEN, probeAssigned('A', 1), probeAssigned('A', 2));
});
afterEach(() => folder.remove());

/** What a probe reads at a minute of the measurement. */
type Trace = (minute: number) => number;
const SECONDS = 10;
const LASTS = 25;
const TAU_MINUTES = 4;
/** At rest for three minutes, then on its way to 20 °C, as Newton has it. */
const from =
  (degrees: number): Trace =>
  (minute) =>
    20 + (degrees - 20) * (minute < 3 ? 1 : Math.exp(-(minute - 3) / TAU_MINUTES));
const STEP = from(35);
const WEAK = from(23);
const STILL = from(20);

/** Measures with invented readings of the probes in A:1 and A:2. */
async function measured(first: Trace, second: Trace, options: { json?: true; probe?: string[] } = {}) {
  const lines: string[] = [];
  const io = { out: (text: string) => lines.push(text), err: () => {} };
  const traces: readonly (readonly [RomId, Trace])[] = [
    [probeIn('A', 1), first],
    [probeIn('A', 2), second],
  ];
  const session: BenchSession = {
    store: folder.store,
    begun: SEVEN,
    now: () => later(SEVEN, minutes(LASTS)),
    ending: () => 'the time is over',
    note: () => null,
    async *scans(): AsyncGenerator<Scan> {
      for (let second = 0; second <= LASTS * 60; second += SECONDS)
        yield {
          at: later(SEVEN, seconds(second)),
          board: parseBoardId('0A1B2C3D')!,
          // As a DS18B20 has it: sixteenths of a degree.
          values: new Map(
            traces.map(([rom, trace]) => [rom, celsius(Math.round(trace(second / 60) * 16) / 16)]),
          ),
        };
    },
  };
  const given = { store: folder.path, speed: '1', minutes: '45', by: 'Rika', ...options };
  const error = await lag(session, given, { io } as unknown as Context).then(
    () => null,
    (thrown: unknown) => thrown,
  );
  const kept = folder.store.facts().flatMap(({ fact }) => (fact.type === 'lag-measured' ? [fact] : []));
  return { error, out: lines.join('\n'), kept };
}

// Check values: the time constant and the step are what the invented trace is made with (4 min; 15 °C, downwards).
describe('`probe lag`', () => {
  it('keeps the lag of every probe that made a step', async () => {
    const { error, kept, out } = await measured(STEP, STEP);
    expect(error).toBeNull();
    expect(kept).toHaveLength(2);
    for (const { tauSeconds } of kept)
      expect(Math.abs(tauSeconds / (TAU_MINUTES * 60) - 1)).toBeLessThan(0.03);
    expect(out).toMatch(/A:1 .*tau 24\d s/);
  });

  it.each([
    [
      'is weak',
      WEAK,
      /^1 of 2 probes were not measured: A:2: the step is [23]\.\d °C, at least 5 are needed/,
    ],
    ['is none', STILL, /^1 of 2 probes were not measured: A:2: /],
  ])('fails (exit 3) when the step of one %s, and keeps the others', async (_what, trace, sentence) => {
    for (const probe of [undefined, ['A:1', 'A:2']]) {
      const { error, kept } = await measured(STEP, trace, probe === undefined ? {} : { probe });
      // `main` turns this error, and no other, into exit code 3.
      expect(error).toBeInstanceOf(CheckFailed);
      expect((error as Error).message).toMatch(sentence);
      expect(new Set(kept.map(({ rom }) => rom))).toEqual(new Set([probeIn('A', 1)]));
    }
    expect(EXIT.failed).toBe(3);
  });

  it('prints what it kept as JSON before it fails', async () => {
    const { error, out } = await measured(STEP, WEAK, { json: true });
    expect(error).toBeInstanceOf(CheckFailed);
    expect(JSON.parse(out)).toMatchObject({ lags: [{ rom: probeIn('A', 1), type: 'lag-measured' }] });
  });

  it('asks nothing of a probe that was not named', async () => {
    const { error, kept } = await measured(STEP, WEAK, { probe: ['A:1'] });
    expect(error).toBeNull();
    expect(kept).toHaveLength(1);
  });

  it('refuses when no probe made a step, and keeps nothing', async () => {
    const { error, kept, out } = await measured(WEAK, STILL);
    expect(error).toBeInstanceOf(Refusal);
    expect((error as Error).message).toMatch(/^No lag was measured, the time is over; of A:1: the step is/);
    expect({ kept, out }).toEqual({ kept: [], out: '' });
  });
});
