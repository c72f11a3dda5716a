import { expect, test } from 'vitest';
import type { BoardOutput } from '../../../src/emulator/board.js';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, ROMS } from '../../emulator/bench.js';

const UTC = 1_790_000_000;
/** Quarters of a second: a blink is one on and one off; between two numbers the LED is dark for longer. */
const PAUSE_MS = 1000;

/** How often the LED blinks between two pauses, from a moment on; the first and the last group may be cut off. */
function blinks(outputs: readonly BoardOutput[], fromMs: number): number[] {
  const groups: number[] = [];
  let wentDark = Number.NEGATIVE_INFINITY;
  let isOn = false;
  for (const { atMs, ledIsOn } of outputs) {
    if (ledIsOn && !isOn && atMs >= fromMs) {
      if (atMs - wentDark > PAUSE_MS || groups.length === 0) groups.push(0);
      groups.push((groups.pop() ?? 0) + 1);
    }
    if (!ledIsOn && isOn) wentDark = atMs;
    isOn = ledIsOn;
  }
  return groups.slice(1, -1);
}
const tones = (outputs: readonly BoardOutput[], fromMs: number): number[] => [
  ...new Set(outputs.flatMap(({ atMs, toneHz }) => (atMs < fromMs || toneHz === null ? [] : [toneHz]))),
];

function desk(...slots: readonly (readonly [slot: string, rom: string, cold: string])[]) {
  const bench = new Bench({
    probes: [
      { rom: ROMS[0], celsius: 20 },
      { rom: ROMS[1], celsius: 20 },
    ],
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
  }).run(5000);
  for (const [slot, rom, cold] of slots)
    expect(bench.ask('L', slot, rom.replaceAll('-', ''), cold, '8000')).toEqual(['K']);
  return bench;
}
const BELOW = '0180'; // 24 degC, where the probes are at 20
const ABOVE = '0100'; // 16 degC

test('the LED blinks the numbers of the slots to act on, in turn, with the high sound', () => {
  const bench = desk(['02', ROMS[0], BELOW], ['05', ROMS[1], BELOW]).run(90_000);
  const groups = blinks(bench.outputs, 60_000);
  expect(groups.length).toBeGreaterThanOrEqual(4);
  expect(groups).toEqual(groups.map((_, index) => (groups[index % 2] === 2 ? 2 : 5)));
  expect(new Set(groups)).toEqual(new Set([2, 5]));
  expect(tones(bench.outputs, 60_000).map(Math.round)).toEqual([2717]); // 16 MHz / 64 / 2 / 46
});

test('a slot within its limits is not blinked (negative control)', () => {
  const bench = desk(['02', ROMS[0], ABOVE], ['05', ROMS[1], BELOW]).run(90_000);
  expect(new Set(blinks(bench.outputs, 60_000))).toEqual(new Set([5]));
});

test('a cup that is due blinks its slot with the low sound, and muting stops the sound alone', () => {
  const bench = desk(['03', ROMS[0], ABOVE]);
  expect(bench.ask('D', '03', (UTC + 20).toString(16).toUpperCase())).toEqual(['K']);
  bench.run(15_000);
  expect(tones(bench.outputs, 0)).toEqual([]);
  bench.run(50_000);
  expect(tones(bench.outputs, 15_000).map(Math.round)).toEqual([1344]); // 16 MHz / 64 / 2 / 93
  bench.board.press(true);
  bench.run(bench.board.ms + 1500).board.press(false);
  const mutedMs = bench.board.ms;
  bench.run(mutedMs + 30_000);
  expect(tones(bench.outputs, mutedMs)).toEqual([]);
  expect(new Set(blinks(bench.outputs, mutedMs))).toEqual(new Set([3]));
});
