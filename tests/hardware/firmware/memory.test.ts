import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import type { Fault } from '../../../src/emulator/faults.js';
import { MEMORY_ADDRESS, SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, manyRoms } from '../../emulator/bench.js';

const README = new URL('../../../hardware/firmware/README.md', import.meta.url);
const RAM_END = 0x8ff;
const STACK_BYTES_MAX = 440;
/** 1.7 KiB for variables and stack together: the project's own limit. */
const RAM_BYTES_MAX = 1740;
const SETTINGS = '01,28139BBB0B00001F,0010,0020'.split(',');

test('the stack stays under 440 bytes while everything happens, as the README tells', () => {
  const probes = manyRoms(16).map((rom) => ({ rom }));
  const faults: Fault[] = [
    { kind: 'loose-lead', rom: probes[3]?.rom ?? '', fromMs: 0, toMs: 20_000 },
    { kind: 'bit-flips', fromMs: 30_000, toMs: 50_000 },
    { kind: 'short', fromMs: 50_000, toMs: 55_000 },
  ];
  // Until it is used, memory holds what it held at power-on.
  const untouched = new Bench({ probes }).board.cpu.data.slice();
  const bench = new Bench({
    probes,
    faults,
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: 1_790_000_000 }),
    // The memory goes while a page is open and comes back: pages wait in RAM and are adopted.
    i2cFaults: [{ kind: 'absent', address: MEMORY_ADDRESS, fromMs: 60_000, toMs: 130_000 }],
  }).run(15_000);
  for (const [letter, ...fields] of [
    ['I'],
    ['L', ...SETTINGS],
    ['D', '01', '6A000000'],
    ['C', '6AB13B80'],
    ['T'],
    ['S'],
    ['M'],
  ])
    expect(bench.ask(letter ?? '', ...fields)[0]).toBe('K');
  bench.board.press(true);
  bench.run(bench.board.ms + 100).board.press(false);
  bench.run(50_000).board.reset('external');
  bench.run(130_000);
  expect(bench.ask('R', '000001', '0200')[0]).toBe('K');
  const { data } = bench.run(bench.board.ms + 60_000).board.cpu;
  const readme = readFileSync(README, 'utf8');
  const ramBytes = Number(/(\d+) of 2048 bytes of RAM/.exec(readme)?.[1]);
  let lowest = RAM_END;
  for (let address = 0x100 + ramBytes; address <= RAM_END; address += 1)
    if (data[address] !== untouched[address]) lowest = Math.min(lowest, address);
  const stackBytes = RAM_END + 1 - lowest;
  expect(stackBytes).toBeGreaterThan(30);
  expect(stackBytes).toBeLessThan(STACK_BYTES_MAX);
  expect(ramBytes + STACK_BYTES_MAX).toBeLessThanOrEqual(RAM_BYTES_MAX);
  const told = /the stack stays under (\d+) bytes/.exec(readme)?.[1];
  expect(Number(told)).toBe(STACK_BYTES_MAX);
});
