import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { analogInput } from '../../../src/cli/logging/analogSettings.js';
import { type SourceLine, sourceArgs, sourceLines } from '../../../src/cli/logging/sources.js';
import { eachInNewFolder } from '../../tools/newFolder.js';
import { run } from '../run.js';

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
});

const file = (text: string): string => {
  const path = join(folder, 'sources.json');
  writeFileSync(path, text);
  return path;
};

describe('sourceLines()', () => {
  it('takes ports, 1-Wire folders and the lines of a file together', () => {
    const sources = file(
      JSON.stringify({
        sources: [
          { kind: 'board', port: '/dev/ttyUSB1', carrier: 'B' },
          { kind: 'one-wire', folder: '/sys/bus/w1/devices', carrier: 'C' },
        ],
      }),
    );
    expect(sourceLines({ port: ['/dev/ttyUSB0=A', 'COM3'], oneWire: ['/elsewhere=D'], sources })).toEqual([
      { kind: 'board', port: '/dev/ttyUSB0', carrier: 'A' },
      { kind: 'board', port: 'COM3', carrier: null },
      { kind: 'one-wire', folder: '/elsewhere', carrier: 'D' },
      { kind: 'board', port: '/dev/ttyUSB1', carrier: 'B' },
      { kind: 'one-wire', folder: '/sys/bus/w1/devices', carrier: 'C' },
    ]);
  });

  it('takes a stock board by its port, or in full from a file', () => {
    expect(sourceLines({ stock: ['/dev/ttyACM0=E'] })).toEqual([
      { kind: 'stock', port: '/dev/ttyACM0', carrier: 'E', oneWirePins: [2], analog: [] },
    ]);
    const sources = file(
      JSON.stringify({
        sources: [
          {
            kind: 'stock',
            port: '/dev/ttyACM1',
            oneWirePins: [],
            analog: [
              { part: 'TMP36', channel: 0 },
              {
                part: 'thermistor',
                channel: 1,
                curve: [
                  [27_326, 0],
                  [10_000, 25],
                  [4158, 50],
                ],
              },
            ],
          },
        ],
      }),
    );
    const [line] = sourceLines({ sources });
    expect(line).toMatchObject({
      kind: 'stock',
      oneWirePins: [],
      analog: [
        { part: 'TMP36', referenceVolts: 5, referencePercent: 5 },
        { part: 'thermistor', seriesOhm: 10_000, side: 'ground', thermistorPercent: 5, seriesPercent: 1 },
      ],
    });
    const inputs = (line as Extract<SourceLine, { kind: 'stock' }>).analog.map(analogInput);
    // TMP36: 750 mV at 25 degC (datasheet), in steps of 5 V / 1024; the thermistor's table has 10 kOhm there.
    expect(inputs[0]!.toCelsius(153.1, 10)).toBeCloseTo(25, 1);
    expect(inputs[1]!.toCelsius(511.5, 10)).toBeCloseTo(25, 6);
    // docs/sources.md gives U for these.
    expect(inputs.map((each) => each.uncertainty(10).toFixed(2))).toEqual(['2.90', '0.84']);
  });

  it.each([
    [
      'a thermistor without a curve',
      '{"sources":[{"kind":"stock","port":"x","analog":[{"part":"thermistor","channel":0}]}]}',
      /sources\.0\.analog\.0\.curve/,
    ],
    [
      'an analog part nobody knows',
      '{"sources":[{"kind":"stock","port":"x","analog":[{"part":"LM36","channel":0}]}]}',
      /sources\.0\.analog\.0\.part/,
    ],
    ['no JSON', 'sources:', /is not JSON/],
    ['nothing in it', '{"sources":[]}', /sources\.json: sources: Too small/],
    ['an unknown kind', '{"sources":[{"kind":"magic"}]}', /sources\.0\.kind/],
    ['a missing port', '{"sources":[{"kind":"board"}]}', /sources\.0\.port/],
    ['a key nobody knows', '{"sources":[{"kind":"board","port":"x","speed":9}]}', /sources\.0.*speed/],
    [
      'a carrier that is no name',
      '{"sources":[{"kind":"board","port":"x","carrier":"a b"}]}',
      /0\.carrier: is not/,
    ],
  ])('refuses a file with %s, naming it', (_, text, message) => {
    const sources = file(text);
    expect(() => sourceLines({ sources })).toThrow(message);
    expect(() => sourceLines({ sources })).toThrow(sources);
    expect(() => sourceLines({ sources })).toThrow('docs/sources.md');
  });

  it('refuses a place or a carrier that is named twice', () => {
    expect(() => sourceLines({ port: ['a=A', 'a'] })).toThrow('a is named twice as a source');
    expect(() => sourceLines({ port: ['a=A'], oneWire: ['b=A'] })).toThrow(
      'carrier A is given to two sources',
    );
  });
});

describe('sourceArgs()', () => {
  it('hands on the same choice', () => {
    expect(sourceArgs({ port: ['a=A', 'b'], oneWire: ['c'], stock: ['e'], sources: 'd' })).toEqual(
      '--port a=A --port b --one-wire c --stock e --sources d'.split(' '),
    );
  });
});

describe('log', () => {
  it('is a wrong command line without a source, or with one and --emulate', async () => {
    expect((await run(['log'])).code).toBe(2);
    const both = await run(['log', '--one-wire', 'x', '--emulate', 'warm-day']);
    expect(both.code).toBe(2);
    expect(both.err).toContain('give either sources');
  });
});
