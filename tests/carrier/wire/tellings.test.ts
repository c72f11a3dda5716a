import { describe, expect, it } from 'vitest';
import { decodeLine } from '../../../src/carrier/wire/codec.js';
import { framed, ROMS } from './lines.js';

const ROM = ROMS[0].replaceAll('-', '');
const line = (kind: string, ...fields: string[]) => framed(kind, 3, 9, 5000, ...fields);
const head = { bootCount: 3, sequence: 9, boardMs: 5000 };
const SECONDS = '6A02F0C0';
const AT = 0x6a02f0c0 * 1000;

describe('decodeLine()', () => {
  it.each([
    [
      'an answer',
      line('A', 'R', '1F', 'K', '0010'),
      { kind: 'answer', command: 'resend', commandSequence: 31, result: 'done', values: ['0010'] },
    ],
    [
      'an answer to what could not be read',
      line('A', '?', '00', 'C'),
      { kind: 'answer', command: null, commandSequence: 0, result: 'bad-crc', values: [] },
    ],
    [
      'where the log is',
      line('J', 'M', '000001', '00002A', '000029', '01F0'),
      { kind: 'log-state', store: 'memory', oldest: 1, open: 42, acknowledged: 41, room: 496 },
    ],
    [
      'a clock that runs',
      line('C', 'R', SECONDS, 'FF'),
      { kind: 'clock', clock: 'running', utc: AT, sets: 255 },
    ],
    [
      'a clock that knows no time, of a board that does not tell how often it was set',
      line('C', 'S', '00000000'),
      { kind: 'clock', clock: 'stopped', utc: null, sets: null },
    ],
    [
      'a mark',
      line('M', '07', '0002', '0000FFFF', SECONDS, '03'),
      { kind: 'mark', mark: 7, markBoot: 2, markMs: 65_535, utc: AT, sets: 3 },
    ],
    [
      'settings',
      line('T', '0A', '14', '02'),
      { kind: 'settings', periodWithHostSeconds: 10, periodAloneSeconds: 20, slots: 2 },
    ],
    [
      'a slot',
      line('E', '04', ROM, '00F9', '8000', SECONDS),
      { kind: 'slot-setting', slot: 4, rom: ROMS[0], cold: 249, hot: null, due: AT },
    ],
    [
      'a slot with a limit below zero',
      line('E', '10', ROM, 'FFF0', '0280', '00000000'),
      { kind: 'slot-setting', slot: 16, rom: ROMS[0], cold: -16, hot: 640, due: null },
    ],
    ['alarms', line('Y', '8001', '0002', '1'), { kind: 'alarms', act: [1, 16], due: [2], isMuted: true }],
    ['a warning', line('W', 'F', '0040'), { kind: 'warning', warning: 'log-nearly-full', detail: 64 }],
    [
      'a warning with a field of a later protocol',
      line('W', 'P', '0003', 'AB'),
      { kind: 'warning', warning: 'probe-lost', detail: 3 },
    ],
  ])('reads %s', (_name, text, told) => {
    expect(decodeLine(text)).toEqual({ ...head, ...told });
  });

  it.each([
    ['an answer without a result', line('A', 'R', '1F'), 'bad-field'],
    ['an answer with an unknown result', line('A', 'R', '1F', 'X'), 'bad-field'],
    ['a part beyond the page', line('L', '000001', '4', '00'.repeat(32)), 'bad-field'],
    ['a short part', line('L', '000001', '0', '00'.repeat(31)), 'bad-field'],
    ['a part in lower case', line('L', '000001', '0', 'ab'.repeat(32)), 'bad-field'],
    ['a log in an unknown place', line('J', 'Q', '000001', '000002', '000001', '0001'), 'bad-field'],
    ['a log without its room', line('J', 'M', '000001', '000002', '000001'), 'bad-field'],
    ['a clock in an unknown state', line('C', 'X', SECONDS), 'bad-field'],
    ['a clock without time', line('C', 'R'), 'bad-field'],
    ['a clock set so often that it is no byte', line('C', 'R', SECONDS, '100'), 'bad-field'],
    ['a mark without its time', line('M', '07', '0002'), 'bad-field'],
    ['a slot 0', line('E', '00', ROM, '8000', '8000', '00000000'), 'bad-field'],
    ['a slot 17', line('E', '11', ROM, '8000', '8000', '00000000'), 'bad-field'],
    [
      'a slot with a damaged ROM id',
      line('E', '01', ROM.replace('1F', '1E'), '8000', '8000', '00000000'),
      'bad-rom',
    ],
    ['alarms muted by 2', line('Y', '0000', '0000', '2'), 'bad-field'],
    ['an unknown warning', line('W', 'Z', '0000'), 'bad-field'],
  ])('discards %s', (_name, text, reason) => {
    expect(decodeLine(text)).toEqual({ kind: 'discarded', reason });
  });
});
