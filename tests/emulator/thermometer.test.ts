import { describe, expect, test } from 'vitest';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import { crc8OfBits, ROMS } from './bench.js';
import * as master from './master.js';

const [ROM, OTHER] = ROMS;
const bytesOf = (rom: string) => rom.split('-').map((pair) => Number.parseInt(pair, 16));

function busWith(...probes: { rom: string; celsius?: number }[]) {
  const thermometers = probes.map(
    ({ rom, celsius = 20 }) => new Thermometer({ rom, temperatureAt: () => celsius }),
  );
  const bus = new OneWireBus({ thermometers });
  return { bus, thermometers, m: new master.Master(bus) };
}

const scratchpad = (m: master.Master, rom = ROM as string): number[] => {
  m.reset();
  return m.write(master.MATCH_ROM, ...bytesOf(rom), master.READ_SCRATCHPAD).read(9);
};

describe('a thermometer', () => {
  test('tells its ROM id when it is alone', () => {
    const { bus, m } = busWith({ rom: ROM });
    expect(m.reset()).toBe(true);
    expect(m.write(master.READ_ROM).read(8)).toEqual(bytesOf(ROM));
    expect(bus.violationCount).toBe(0);
  });

  test('answers only to its own ROM id', () => {
    const { m } = busWith({ rom: ROM, celsius: 10 }, { rom: OTHER, celsius: 30 });
    m.reset();
    m.write(master.SKIP_ROM, master.CONVERT_T).wait(750);
    expect(scratchpad(m, ROM).slice(0, 2)).toEqual([160, 0]);
    expect(scratchpad(m, OTHER).slice(0, 2)).toEqual([480 & 0xff, 1]);
    expect(scratchpad(m, ROMS[2])).toEqual(Array(9).fill(0xff));
  });

  test('holds the old value until the conversion is done, and reads 0 while it converts', () => {
    const { m } = busWith({ rom: ROM, celsius: 10 });
    m.reset();
    m.write(master.SKIP_ROM, master.CONVERT_T);
    expect(m.readBit()).toBe(0);
    m.wait(500);
    expect(scratchpad(m).slice(0, 2)).toEqual([0x50, 0x05]);
    m.wait(200);
    expect(scratchpad(m).slice(0, 2)).toEqual([160, 0]);
  });

  test('sends a scratchpad whose CRC is right, then ones', () => {
    const { m } = busWith({ rom: ROM });
    const bytes = scratchpad(m);
    expect(crc8OfBits(bytes)).toBe(0);
    expect(m.read(1)).toEqual([0xff]);
  });

  test('keeps TH, TL and resolution in the scratchpad, and over a restart only what was copied', () => {
    const { m, thermometers } = busWith({ rom: ROM });
    m.reset();
    m.write(master.SKIP_ROM, master.WRITE_SCRATCHPAD, 0x11, 0x22, 0x1f);
    m.reset();
    m.write(master.SKIP_ROM, master.COPY_SCRATCHPAD).wait(10);
    m.reset();
    m.write(master.SKIP_ROM, master.WRITE_SCRATCHPAD, 0x33, 0x44, 0x7f);
    expect(scratchpad(m).slice(2, 5)).toEqual([0x33, 0x44, 0x7f]);
    thermometers[0]?.powerUp();
    expect(scratchpad(m).slice(2, 5)).toEqual([0x11, 0x22, 0x1f]);
  });

  test('converts faster at a coarser resolution', () => {
    const { m } = busWith({ rom: ROM, celsius: 10 });
    m.reset();
    m.write(master.SKIP_ROM, master.WRITE_SCRATCHPAD, 0, 0, 0x1f);
    m.reset();
    m.write(master.SKIP_ROM, master.CONVERT_T).wait(94); // 9 bit: DS18B20 datasheet 19-7487 Rev 4, at most 93.75 ms
    expect(scratchpad(m).slice(0, 2)).toEqual([160, 0]);
  });

  test('forgets what it was doing at a reset', () => {
    const { m } = busWith({ rom: ROM });
    m.reset();
    m.write(master.MATCH_ROM, ...bytesOf(ROM).slice(0, 3));
    expect(scratchpad(m).slice(0, 2)).toEqual([0x50, 0x05]);
  });

  test('in a search sends bit and complement, which wired together are 0 and 0 where ids differ', () => {
    const { m } = busWith({ rom: ROM }, { rom: OTHER });
    const [a, b] = [bytesOf(ROM), bytesOf(OTHER)];
    m.reset();
    m.write(master.SEARCH_ROM);
    for (let bit = 0; bit < 64; bit += 1) {
      const [ofA = 0, ofB = 0] = [a, b].map((rom) => ((rom[bit >> 3] ?? 0) >> (bit & 7)) & 1);
      const pair = [m.readBit(), m.readBit()];
      // The 16 bits that both share, then only A is followed.
      const isAlone = bytesAgreeUpTo(a, b, bit) === false;
      expect(pair).toEqual(isAlone ? [ofA, 1 - ofA] : [ofA & ofB, (1 - ofA) & (1 - ofB)]);
      m.writeBit(ofA);
    }
  });

  test('cannot be made of a ROM id whose CRC is wrong', () => {
    expect(() => new Thermometer({ rom: '28-13-9B-BB-0B-00-00-1E', temperatureAt: () => 0 })).toThrow(
      RangeError,
    );
  });
});

/** True when the first `bits` bits of the two ids are equal. */
function bytesAgreeUpTo(a: number[], b: number[], bits: number): boolean {
  for (let bit = 0; bit < bits; bit += 1)
    if ((((a[bit >> 3] ?? 0) ^ (b[bit >> 3] ?? 0)) >> (bit & 7)) & 1) return false;
  return true;
}
