#!/usr/bin/env node
import { systemClock } from '../units/clock.js';
import type { Io } from './io.js';
import { main } from './main.js';

const line = (text: string) => (text.endsWith('\n') ? text : `${text}\n`);
let isGone = false;
const io: Io = {
  out: (text) => void process.stdout.write(line(text)),
  err: (text) => void process.stderr.write(line(text)),
  errColumns: process.stderr.isTTY ? process.stderr.columns || 80 : undefined,
  outTaken: () =>
    new Promise((resolve) => {
      const { stdout } = process;
      // Where writing never waits, signals and errors get their turn all the same.
      const look = () => resolve(!isGone);
      if (!stdout.writableNeedDrain || isGone) return void setImmediate(look);
      for (const event of ['drain', 'close', 'error']) stdout.once(event, look);
    }),
};
// A reader that went away (a pager, a closed terminal) is no fault of ours.
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE' && error.code !== 'EIO') throw error;
    if (stream === process.stdout) isGone = true;
  });

process.exitCode = await main(process.argv.slice(2), { io, clock: systemClock });
