import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Fault } from '../../../src/emulator/faults.js';
import { Bench, manyRoms } from '../../emulator/bench.js';

const README = new URL('../../../hardware/firmware/README.md', import.meta.url);
const RAM_END = 0x8ff;
const STACK_BYTES_MAX = 160;

test('the stack stays under 160 bytes while everything happens, as the README tells', () => {
  const probes = manyRoms(16).map((rom) => ({ rom }));
  const faults: Fault[] = [
    { kind: 'loose-lead', rom: probes[3]?.rom ?? '', fromMs: 0, toMs: 20_000 },
    { kind: 'bit-flips', fromMs: 30_000, toMs: 50_000 },
    { kind: 'short', fromMs: 50_000, toMs: 55_000 },
  ];
  // Until it is used, memory holds what it held at power-on.
  const untouched = new Bench({ probes }).board.cpu.data.slice();
  const { data } = new Bench({ probes, faults }).run(130_000).board.cpu;
  let [lowest, highest] = [RAM_END, 0x100];
  for (let address = 0x100; address <= RAM_END; address += 1) {
    if (data[address] === untouched[address]) continue;
    // The variables are the block at the bottom, the stack that at the top, with hundreds of bytes between.
    if (address > 0x600) lowest = Math.min(lowest, address);
    else highest = Math.max(highest, address);
  }
  const stackBytes = RAM_END + 1 - lowest;
  expect(stackBytes).toBeGreaterThan(30);
  expect(stackBytes).toBeLessThan(STACK_BYTES_MAX);
  expect(lowest - highest).toBeGreaterThan(1000);
  const told = /the stack stays under (\d+) bytes/.exec(readFileSync(README, 'utf8'))?.[1];
  expect(Number(told)).toBe(STACK_BYTES_MAX);
});
