import { existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { GENERATOR } from '../report/page.js';
import { Refusal } from '../units/refusal.js';
import { refuseIrregular } from '../units/regularFile.js';
import type { Context } from './context.js';

/** Prints a page, or writes it to a file whole. Only an earlier page is written over. */
export function handOut(text: string, out: string | undefined, { io }: Context): void {
  if (out === undefined) {
    io.out(text);
    return;
  }
  refuseIrregular(out, 'name another file with --out, or leave it out for standard output', '', false);
  try {
    if (existsSync(out) && !readFileSync(out, 'latin1').includes(GENERATOR))
      throw new Refusal(`${out} exists and is no page of stillwarm; name another file with --out.`);
    const part = `${out}.part`;
    writeFileSync(part, text);
    renameSync(part, out);
  } catch (error) {
    if (error instanceof Refusal) throw error;
    throw new Refusal(
      `${out} cannot be written (${(error as NodeJS.ErrnoException).code}); check folder and rights.`,
    );
  }
  io.err(`written: ${out}`);
}
