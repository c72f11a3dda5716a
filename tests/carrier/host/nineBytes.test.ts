import { describe, expect, it } from 'vitest';
import { DS18B20, DS18S20, readNineBytes } from '../../../src/carrier/host/nineBytes.js';
import { ds18b20, POWER_UP, withCrc } from './scratchpads.js';

const bytes = (text: string) => Uint8Array.from(text.split(' '), (pair) => Number.parseInt(pair, 16));
const read = (text: string, family = DS18B20) => readNineBytes(family, bytes(text), null);

describe('readNineBytes()', () => {
  it.each([
    // published clone report, CC BY, revision 30 Nov 2024: nine bytes of genuine and other probes
    ['F4 00 4B 46 7F FF 0C 10 FA', 15.25, 'ok'],
    ['F3 00 4B 46 7F FF 0D 10 EE', 15.1875, 'ok'],
    ['F6 00 4B 46 7F FF 0A 10 D6', 15.375, 'ok'],
    ['50 05 4B 46 7F FF 0C 10 1C', 85, 'not-converted'],
    ['50 05 55 00 7F FF 0C 10 21', 85, 'not-converted'],
    // the same report: a clone whose byte 6 does not tell; 85 is outside what a cup can have all the same
    ['50 05 4B 46 7F FF 10 10 BD', 85, 'ok'],
  ])('reads %s as %s degC, %s', (text, degrees, status) => {
    expect(read(text)).toEqual({ raw: degrees * 16, status });
  });

  it.each([
    // DS18B20 datasheet 19-7487 Rev 4, temperature/data relationship
    [0x0191, 25.0625],
    [0x00a2, 10.125],
    [0x0008, 0.5],
    [0, 0],
    [0xfff8, -0.5],
    [0xff5e, -10.125],
    [0xfe6f, -25.0625],
    [0xfc90, -55],
  ])('keeps the sign of word %s', (word, degrees) => {
    expect(readNineBytes(DS18B20, Uint8Array.from(ds18b20(word)), null)).toEqual({
      raw: degrees * 16,
      status: 'ok',
    });
  });

  it.each([
    // DS18S20 datasheet: T = truncated - 0.25 + (16 - remain) / 16; computed by hand from it
    ['AA 00 B4 B9 FF FF 0C 10 18', 85, 'not-converted'], // published clone report: DS18S20-type power-up
    ['32 00 4B 46 FF FF 10 10', 24.75, 'ok'],
    ['32 00 4B 46 FF FF 0C 10', 25, 'ok'],
    ['32 00 4B 46 FF FF 01 10', 25.6875, 'ok'],
    ['FF FF 4B 46 FF FF 04 10', -0.5, 'ok'],
    ['32 00 4B 46 FF FF 0C 0F', 25, 'bad-configuration'],
  ])('reads a DS18S20: %s', (text, degrees, status) => {
    const nine = text.split(' ').length === 9 ? bytes(text) : Uint8Array.from(withCrc([...bytes(text)]));
    expect(readNineBytes(DS18S20, nine, null)).toEqual({ raw: degrees * 16, status });
  });

  it.each([
    ['00 00 00 00 00 00 00 00 00', 'all-zero'],
    ['FF FF FF FF FF FF FF FF FF', 'missing'],
    ['90 01 55 05 7F 7E 81 66 27', 'bad-crc'], // published clone report: a sample whose printed CRC is wrong
    ['F4 00 4B 46 7F FF 0C 10', 'bad-crc'],
    ['F5 00 4B 46 7F FF 0C 10 FA', 'bad-crc'],
  ])('gives no value for %s: %s', (text, status) => {
    expect(read(text)).toEqual({ raw: null, status });
  });

  it('finds a probe that lost its mark or is not at 12 bit', () => {
    const mark = { th: 83, tl: 215 };
    const marked = Uint8Array.from(ds18b20(400, mark));
    expect(readNineBytes(DS18B20, marked, mark).status).toBe('ok');
    expect(readNineBytes(DS18B20, Uint8Array.from(ds18b20(400)), mark).status).toBe('restarted');
    expect(readNineBytes(DS18B20, Uint8Array.from(POWER_UP), mark).status).toBe('not-converted');
    const coarse = Uint8Array.from(ds18b20(400, { configuration: 0x3f }));
    expect(readNineBytes(DS18B20, coarse, null)).toEqual({ raw: 400, status: 'bad-configuration' });
  });

  it('finds every single flipped bit', () => {
    const good = ds18b20(400);
    for (let bit = 0; bit < 72; bit += 1) {
      const flipped = Uint8Array.from(good);
      flipped[bit >> 3]! ^= 1 << (bit & 7);
      expect(readNineBytes(DS18B20, flipped, null).status).toBe('bad-crc');
    }
  });
});
