import { expect } from 'vitest';
import { main } from '../../src/cli/main.js';
import type { Clock } from '../../src/units/clock.js';

/** Runs a command as the crew types it at this moment; it must go through. Gives what it prints. */
export async function crewTypes(words: string, store: string, clock: Clock): Promise<string> {
  let out = '';
  let err = '';
  const io = {
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      if (!/^(Safety: |Not fully counted)/.test(text)) err += text;
    },
  };
  const code = await main([...words.split(' '), '--store', store], { io, clock });
  expect([code, err]).toEqual([0, '']);
  return out;
}
