import { describe, expect, it } from 'vitest';
import { decodeLine } from '../../../src/carrier/wire/codec.js';
import { crc16 } from '../../../src/carrier/wire/crc16.js';
import { BOARD, bootLine, framed, probesLine, ROMS } from './lines.js';

describe('crc16()', () => {
  it('gives the standard check value', () => {
    // CRC-16/CCITT-FALSE of "123456789": 29B1, catalogue of parametrised CRC algorithms (from memory)
    expect(crc16('123456789')).toBe(0x29b1);
  });
});

describe('decodeLine()', () => {
  it('reads a boot line', () => {
    expect(decodeLine(bootLine(3, 0))).toEqual({
      kind: 'boot',
      bootCount: 3,
      sequence: 0,
      boardMs: 12,
      protocolVersion: 1,
      firmwareVersion: '0.1.0',
      board: BOARD,
      resetCause: 'power-on',
      clock: 'absent',
    });
  });

  it('reads the table of probes', () => {
    expect(decodeLine(probesLine(3, 1))).toMatchObject({
      kind: 'probes',
      table: 1,
      count: 2,
      entries: [
        { index: 0, rom: ROMS[0] },
        { index: 1, rom: ROMS[1] },
      ],
    });
  });

  it('reads a scan with signs, a missing value and slot indices', () => {
    // FE6F = -25.0625 degC = -401 sixteenths, 0191 = 25.0625: DS18B20 datasheet 19-7487 Rev 4, table 1
    expect(decodeLine(framed('S', 3, 2, 10_000, '01', '00000007', '0+0191', '1+FE6F', 'FM----'))).toEqual({
      kind: 'scan',
      bootCount: 3,
      sequence: 2,
      boardMs: 10_000,
      table: 1,
      scan: 7,
      entries: [
        { index: 0, status: 'ok', raw: 401 },
        { index: 1, status: 'ok', raw: -401 },
        { index: 15, status: 'missing', raw: null },
      ],
    });
  });

  it('reads a line behind the rubbish of a half-sent one', () => {
    expect(decodeLine(`$S,0003,00${bootLine(4, 0)}`).kind).toBe('discarded');
    expect(decodeLine(`\x00\xff~${bootLine(4, 0)}`).kind).toBe('boot');
  });

  it.each([
    ['nothing that begins a frame', 'AT+GMM', 'no-frame'],
    ['a cut line', bootLine(1, 0).slice(0, -3), 'no-frame'],
    ['a line with one changed character', bootLine(1, 0).replace('0.1.0', '0.1.1'), 'bad-crc'],
    ['a kind of a later protocol', framed('Q', 1, 0, 0), 'unknown-kind'],
    ['an unknown reset cause', framed('B', 1, 0, 0, '01', '0.1.0', BOARD, 'X', 'A'), 'bad-field'],
    ['a scan entry of an unknown status', framed('S', 1, 0, 0, '01', '00000001', '0?0191'), 'bad-field'],
    ['a good status without a value', framed('S', 1, 0, 0, '01', '00000001', '0+----'), 'bad-field'],
    ['a ROM id whose CRC is wrong', framed('P', 1, 0, 0, '01', '01', '0.28139BBB0B00001E'), 'bad-rom'],
  ])('discards %s', (_name, line, reason) => {
    expect(decodeLine(line)).toEqual({ kind: 'discarded', reason });
  });

  it('never takes a line with any one bit flipped for a good one', () => {
    const line = framed('S', 3, 2, 10_000, '01', '00000007', '0+0191', '1+FE6F');
    for (let at = 0; at < line.length; at += 1)
      for (let bit = 0; bit < 8; bit += 1) {
        const flipped = String.fromCharCode(line.charCodeAt(at) ^ (1 << bit));
        expect(decodeLine(line.slice(0, at) + flipped + line.slice(at + 1)).kind).toBe('discarded');
      }
  });
});
