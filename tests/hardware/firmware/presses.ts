import type { Bench } from '../../emulator/bench.js';

/** A press of the button that lasts `ms`, and a moment for the board to notice its end. */
export function press(bench: Bench, ms: number): void {
  bench.board.press(true);
  bench.run(bench.board.ms + ms).board.press(false);
  bench.run(bench.board.ms + 200);
}

const FLICKER_MS = 3;

/** The same with contacts that open and close for `bounceMs` before they stay, at both ends. */
export function pressBouncing(bench: Bench, ms: number, bounceMs: number): void {
  for (const stays of [true, false]) {
    for (let spent = 0; spent < bounceMs; spent += 2 * FLICKER_MS) {
      bench.board.press(stays);
      bench.run(bench.board.ms + FLICKER_MS).board.press(!stays);
      bench.run(bench.board.ms + FLICKER_MS);
    }
    bench.board.press(stays);
    bench.run(bench.board.ms + ms);
  }
}
