import { expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, type BenchOptions, ROMS } from '../../emulator/bench.js';
import { testRules } from './heldRules.js';
import { press, pressBouncing } from './presses.js';

const ROM = ROMS[0].replaceAll('-', '');
const UTC = 1_790_000_000;
const desk = (image: Partial<BenchOptions> = {}) =>
  new Bench({
    probes: [{ rom: ROMS[0], celsius: 20 }],
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
    ...image,
  }).run(5000);

test('the button stamps a mark with the time of a short press, kept over a power cut, and mutes when held', () => {
  const bench = desk();
  expect(bench.ask('L', '02', ROM, '0180', '8000')).toEqual(['K']);
  bench.run(50_000);
  expect(bench.of('Y').at(-1)?.fields).toEqual(['0002', '0000', '0']);
  expect(bench.outputs.some(({ toneHz }) => (toneHz ?? 0) > 2000)).toBe(true);
  press(bench, 120);
  const [mark] = bench.of('M');
  expect(Math.abs(Number.parseInt(mark?.fields[3] ?? '', 16) - (UTC + 50))).toBeLessThanOrEqual(1);
  press(bench, 1500);
  expect(bench.of('Y').at(-1)?.fields).toEqual(['0002', '0000', '1']);
  expect(bench.of('M')).toHaveLength(1);
  bench.board.reset('power-on');
  bench.run(bench.board.ms + 3000);
  expect(bench.ask('M')).toEqual(['K', '01']);
  bench.run(bench.board.ms + 500);
  expect(bench.of('M').at(-1)?.fields).toEqual(mark?.fields);
});

/** Marks of three presses whose contacts bounce for `ms`. */
function marksOfThree(bench: Bench, ms: number): number {
  for (let presses = 0; presses < 3; presses += 1) pressBouncing(bench, 300, ms);
  return bench.of('M').length;
}

testRules([{ rule: 'contacts may bounce', seen: (image) => marksOfThree(desk(image), 24), kept: 3 }]);

test('contacts that bounce for longer than 30 ms stamp more marks than presses', () => {
  expect(marksOfThree(desk(), 36)).toBeGreaterThan(3);
});
