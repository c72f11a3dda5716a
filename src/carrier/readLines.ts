import { ReadlineParser } from '@serialport/parser-readline';
import type { Clock } from '../units/clock.js';
import type { CarrierEvent } from './events.js';
import { lineGuard } from './lineGuard.js';
import { assemble, type Known, NOTHING_KNOWN } from './wire/assemble.js';
import { decodeLine } from './wire/codec.js';
import { LINE_BYTES_MAX } from './wire/frames.js';

/**
 * Turns the bytes of one connection into events: line guard, line parser, codec, assembly. Pipe the bytes
 * into `input`; end it when the connection ends. Every line is stamped with `clock` as it comes out.
 */
export function readLines(
  clock: Pick<Clock, 'utc' | 'steady'>,
  onEvent: (event: CarrierEvent) => void,
): { input: NodeJS.WritableStream } {
  const arrival = () => ({ utc: clock.utc(), monotonic: clock.steady() });
  let known: Known = NOTHING_KNOWN;
  const guard = lineGuard(LINE_BYTES_MAX, (bytes, reason) =>
    onEvent({ kind: 'discarded', arrival: arrival(), reason, bytes }),
  );
  // latin1: utf8 would carry a damaged byte over into the next line.
  const parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1', readableObjectMode: true });
  parser.on('data', (line: string) => {
    if (line === '' || line === '\r') return;
    const step = assemble(known, decodeLine(line), arrival(), line.length + 1);
    known = step.known;
    step.events.forEach(onEvent);
  });
  guard.pipe(parser);
  return { input: guard };
}
