import type { Scenario, ScenarioCarrier } from '../../emulator/scenario.js';
import type { Clock } from '../../units/clock.js';
import { seconds } from '../../units/time.js';
import { readLines } from '../readLines.js';
import type { CarrierSource } from '../source.js';
import { type BoardFaults, type ScenarioBoard, scenarioBoard } from './scenarioBoard.js';
import { SteppedClock } from './steppedClock.js';

/** Between two steps host and board hear nothing of each other. */
const STEP_MS = 50;
const NO_TIME = seconds(0);

/** One emulated board as a source, and the clock of the host at the other end. */
export interface EmulatedSource extends CarrierSource {
  readonly clock: SteppedClock;
  readonly board: ScenarioBoard;
  /** Runs without a host until so many milliseconds after the scenario's start. */
  alone(untilMs: number): void;
}

/**
 * The real image on the emulated board, with a host that lives in its simulated time. Opening resets the board, as
 * opening a serial port does.
 *
 * @param speed how many times faster than real; Infinity for as fast as it goes
 * @param real the clock of this computer, for the pace
 */
export function emulatedSource(
  scenario: Scenario,
  carrier: ScenarioCarrier,
  options: { readonly faults: BoardFaults; readonly speed: number; readonly real: Clock },
): EmulatedSource {
  const { speed, real } = options;
  const clock = new SteppedClock(scenario.start);
  const board = scenarioBoard(scenario, carrier, 0, options.faults);
  let said = '';
  return {
    name: `the emulated carrier ${carrier.carrier}`,
    clock,
    board,
    alone(untilMs) {
      board.run(untilMs);
      clock.moveTo(untilMs);
    },
    open: async () => board.reset(),
    write(line) {
      said += line;
    },
    async run(onEvent, signal) {
      const { input } = readLines(clock, onEvent);
      const arrival = { utc: clock.utc(), monotonic: clock.monotonic() };
      onEvent({ kind: 'link', arrival, state: 'open', detail: 'a host opens its port' });
      const [begun, from] = [real.monotonic(), clock.monotonic()];
      while (!signal.aborted) {
        const next = clock.monotonic() + STEP_MS;
        const chunks = board.run(next, said);
        said = '';
        for (const { atMs, bytes } of chunks) {
          clock.moveTo(atMs);
          await new Promise<void>((resolve) => input.write(bytes, () => resolve()));
        }
        clock.moveTo(next);
        const ahead = (next - from) / speed - (real.monotonic() - begun);
        await real.sleep(ahead > 0 ? seconds(ahead / 1000) : NO_TIME, signal);
      }
      input.end();
    },
  };
}
