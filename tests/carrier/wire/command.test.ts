import { describe, expect, it } from 'vitest';
import { type BoardCommand, encodeCommand } from '../../../src/carrier/wire/command.js';
import { crc16 } from '../../../src/carrier/wire/crc16.js';
import { COMMAND_BYTES_MAX } from '../../../src/carrier/wire/frames.js';
import { parseRomId } from '../../../src/units/ids.js';
import { utcMs } from '../../../src/units/time.js';
import { ROMS } from './lines.js';

const rom = parseRomId(ROMS[0])!;
const NOW = utcMs(0x6a02f0c0 * 1000);
const ROM = '28139BBB0B00001F';

describe('encodeCommand()', () => {
  it.each<[BoardCommand, string]>([
    [{ name: 'identify' }, 'I,0A'],
    [{ name: 'time' }, 'C,0A,6A02F0C0'],
    [{ name: 'period', withHostSeconds: 10, aloneSeconds: 25 }, 'P,0A,0A,19'],
    [{ name: 'limits', slot: 16, rom, cold: 249, hot: 640 }, `L,0A,10,${ROM},00F9,0280`],
    [{ name: 'limits', slot: 1, rom, cold: -16, hot: null }, `L,0A,01,${ROM},FFF0,8000`],
    [{ name: 'limits', slot: 1, rom: null, cold: null, hot: null }, 'L,0A,01,0000000000000000,8000,8000'],
    [{ name: 'due', slot: 2, due: NOW }, 'D,0A,02,6A02F0C0'],
    [{ name: 'due', slot: 2, due: null }, 'D,0A,02,00000000'],
    [{ name: 'acknowledge', page: 0x1234 }, 'K,0A,001234'],
    [{ name: 'resend', page: 1, count: 512 }, 'R,0A,000001,0200'],
    [{ name: 'marks' }, 'M,0A'],
    [{ name: 'search' }, 'S,0A'],
    [{ name: 'settings' }, 'T,0A'],
  ])('writes %j', (command, text) => {
    const line = encodeCommand(command, 10, NOW);
    expect(line).toBe(`!${text}*${crc16(text).toString(16).toUpperCase().padStart(4, '0')}\r\n`);
    expect(line.length).toBeLessThanOrEqual(COMMAND_BYTES_MAX);
  });

  it.each<BoardCommand>([
    { name: 'period', withHostSeconds: 9, aloneSeconds: 20 },
    { name: 'period', withHostSeconds: 10, aloneSeconds: 26 },
    { name: 'due', slot: 0, due: null },
    { name: 'due', slot: 17, due: null },
    { name: 'limits', slot: 1, rom, cold: 0x8000, hot: null },
    { name: 'acknowledge', page: 0x1_00_00_00 },
  ])('never writes %j', (command) => {
    expect(() => encodeCommand(command, 10, NOW)).toThrow(RangeError);
  });
});
