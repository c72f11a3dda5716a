import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { readLines } from '../../src/carrier/readLines.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';
import { bootLine, framed } from './wire/lines.js';

const clock = { utc: () => utcMs(5), steady: () => monotonicMs(7) };

async function read(...chunks: (string | Buffer)[]): Promise<string[]> {
  const events: CarrierEvent[] = [];
  const { input } = readLines(clock, (event) => events.push(event));
  for (const chunk of chunks) input.write(typeof chunk === 'string' ? Buffer.from(chunk, 'latin1') : chunk);
  input.end();
  await new Promise((resolve) => setImmediate(() => setImmediate(resolve)));
  return events.map((event) => (event.kind === 'discarded' ? `${event.reason} ${event.bytes}` : event.kind));
}
const boot = bootLine(1, 0);
const beat = framed('H', 1, 1, 1000);

describe('readLines()', () => {
  it('reads lines however they are cut into chunks', async () => {
    const bytes = Buffer.from(`\r\n${boot}\r\n${beat}\r\n`, 'latin1');
    expect(await read(bytes)).toEqual(['boot', 'heartbeat']);
    expect(await read(...Array.from(bytes, (byte) => Buffer.from([byte])))).toEqual(['boot', 'heartbeat']);
  });

  it('drops a line without end and finds the next one', async () => {
    expect(await read('x'.repeat(100_000), 'y'.repeat(100_000), `\n${boot}\r\n`)).toEqual([
      'too-long 200001',
      'boot',
    ]);
  });

  it('lets the longest line through and not one byte more', async () => {
    expect(await read(`${'x'.repeat(127)}\n`)).toEqual(['no-frame 128']);
    expect(await read(`${'x'.repeat(128)}\n`)).toEqual(['too-long 129']);
  });

  it('takes an unfinished tail for damage, not for a line', async () => {
    expect(await read(`${boot}\r\n`, beat)).toEqual(['boot', `unfinished ${beat.length}`]);
  });

  it('keeps a damaged byte inside its own line', async () => {
    const bytes = Buffer.concat([Buffer.from([0xc3]), Buffer.from(`\n${boot}\r\n`, 'latin1')]);
    expect(await read(bytes)).toEqual(['no-frame 2', 'boot']);
  });
});
