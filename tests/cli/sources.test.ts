import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { sourceArgs, sourceLines } from '../../src/cli/sources.js';
import { run } from './run.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-sources-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

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

  it.each([
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
    expect(sourceArgs({ port: ['a=A', 'b'], oneWire: ['c'], sources: 'd' })).toEqual(
      '--port a=A --port b --one-wire c --sources d'.split(' '),
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
