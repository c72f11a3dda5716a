import type { Bench } from '../../emulator/bench.js';

/** Makes the program hang: it goes to `rjmp .-2`, where start-up code would end if main() ever returned. */
export function hang({ board }: Bench): void {
  const address = board.cpu.progMem.indexOf(0xcfff);
  if (address <= 0) throw new Error('the image has no `rjmp .-2`');
  board.cpu.pc = address;
}
