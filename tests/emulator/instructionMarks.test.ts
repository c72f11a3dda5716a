import { expect, test } from 'vitest';
import {
  CBI,
  INTERRUPT_SHADOW,
  markInstructions,
  PLAIN,
  SLEEP,
} from '../../src/emulator/instructionMarks.js';

test('`markInstructions()` marks what the run loop has to know of', () => {
  // sei, reti, sleep, cbi 0x0b,2, sbi 0x0b,2, cli: AVR instruction set manual
  const marks = markInstructions(Uint16Array.of(0x9478, 0x9518, 0x9588, 0x985a, 0x9a5a, 0x94f8));
  expect([...marks]).toEqual([INTERRUPT_SHADOW, INTERRUPT_SHADOW, SLEEP, CBI, PLAIN, PLAIN]);
});
