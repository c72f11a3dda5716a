#!/usr/bin/env node
import { fstatSync } from 'node:fs';
import { troubleOf } from '../export/newFile.js';
import { systemClock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { linesToFile } from './errLines.js';
import type { Io } from './io.js';
import { EXIT, main } from './main.js';

const line = (text: string) => (text.endsWith('\n') ? text : `${text}\n`);
const ERR = 2;
const toErr = fstatSync(ERR).isFile() ? linesToFile(ERR) : (text: string) => void process.stderr.write(text);
let isGone = false;
/** Why what is printed finds no place, and whether somebody was told. */
let fault: Refusal | null = null;
let isTold = false;
const io: Io = {
  out: (text) => void process.stdout.write(line(text)),
  err: (text) => toErr(line(text)),
  errColumns: process.stderr.isTTY ? process.stderr.columns || 80 : undefined,
  outTaken: () =>
    new Promise((resolve, reject) => {
      const { stdout } = process;
      // Where writing never waits, signals and errors get their turn all the same.
      const look = () => {
        if (fault === null) return resolve(!isGone);
        isTold = true;
        reject(fault);
      };
      if (!stdout.writableNeedDrain || isGone) return void setImmediate(look);
      for (const event of ['drain', 'close', 'error']) stdout.once(event, look);
    }),
};
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  // A reader that went away (a pager, a closed terminal) is no fault of ours; a full disk behind `>` is to be told.
  if (error.code === 'EPIPE' || error.code === 'EIO') isGone = true;
  else
    fault ??= new Refusal(
      `What is printed cannot be written, ${troubleOf(error) ?? error.message}. Not all of it is there.`,
      { cause: error },
    );
});
// There is nobody left to tell, and what was asked for can be done all the same.
process.stderr.on('error', () => {});

process.exitCode = await main(process.argv.slice(2), { io, clock: systemClock });
// Errors of the last lines come a turn later.
await new Promise((resolve) => setImmediate(resolve));
if (fault !== null && !isTold) {
  io.err((fault as Refusal).message);
  process.exitCode = EXIT.refused;
}
