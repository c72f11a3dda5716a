import { describe, expect, it } from 'vitest';
import { type LogFormat, sayIn } from '../../../src/cli/logging/logLines.js';

async function saying(format: LogFormat) {
  const lines: string[] = [];
  const say = await sayIn(format, { out: () => {}, err: (line) => lines.push(line) });
  say('port opened', '/dev/ttyUSB0');
  say('a "quoted" sentence\nof two lines');
  say('/dev/ttyUSB0: no data', '/dev/ttyUSB0', 'warn');
  return lines;
}

describe('sayIn()', () => {
  it('says sentences for people, with their source first, once', async () => {
    expect(await saying('text')).toEqual([
      '/dev/ttyUSB0: port opened',
      'a "quoted" sentence\nof two lines',
      '/dev/ttyUSB0: no data',
    ]);
  });

  it('says one JSON object a line for programs', async () => {
    const lines = await saying('json');
    expect(lines.every((line) => !line.includes('\n'))).toBe(true);
    expect(lines.map((line) => JSON.parse(line))).toMatchObject([
      { level: 'info', program: 'stillwarm', source: '/dev/ttyUSB0', msg: 'port opened' },
      { level: 'info', msg: 'a "quoted" sentence\nof two lines' },
      { level: 'warn', source: '/dev/ttyUSB0', msg: '/dev/ttyUSB0: no data' },
    ]);
    expect(Date.parse(JSON.parse(lines[0]!).time)).toBeGreaterThan(0);
  });
});
