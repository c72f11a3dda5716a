import { describe, expect, test } from 'vitest';
import type { Fault } from '../../../src/emulator/faults.js';
import { Bench, crc8OfBits, ROM_OF_DS18S20, ROMS } from '../../emulator/bench.js';
import { broken } from './broken.js';
import { WHY_NO_BUILD } from './build.js';

const [ROM, OTHER] = ROMS;

describe('a temperature comes out as the datasheet says', () => {
  // DS18B20 datasheet 19-7487 Rev 4, table 1 "Temperature/Data relationship".
  const TABLE = [
    [125, '07D0'],
    [85, '0550'],
    [25.0625, '0191'],
    [10.125, '00A2'],
    [0.5, '0008'],
    [0, '0000'],
    [-0.5, 'FFF8'],
    [-10.125, 'FF5E'],
    [-25.0625, 'FE6F'],
    [-55, 'FC90'],
  ] as const;

  test.each(TABLE)('%d degrees as %s', (celsius, raw) => {
    const bench = new Bench({ probes: [{ rom: ROM, celsius }] }).run(13_000);
    // A true 85.0 has another byte 6 than the power-up value: it is a reading.
    expect(bench.of('S').map((line) => line.fields[2])).toEqual([`0F${raw}`, `0+${raw}`]);
  });

  // Family 10h, extended resolution by its count registers: T = TEMP - 0.25 + (16 - REMAIN) / 16, worked by hand.
  test.each([
    [25, 400],
    [24.75, 396],
    [25.25, 404],
    [25.6875, 411],
    [-0.5, -8],
    [-20.0625, -321],
  ])('%d degrees of family 10h as %d sixteenths', (celsius, sixteenths) => {
    const bench = new Bench({ probes: [{ rom: ROM_OF_DS18S20, celsius }] }).run(3000);
    expect(bench.scans()[0]?.of.get(ROM_OF_DS18S20)).toEqual({ status: 'F', raw: sixteenths });
  });
});

describe('the nine bytes of real parts are judged', () => {
  /** What the firmware says of a probe that sends exactly `bytes`. */
  const judged = (bytes: string, rom: string = ROM) => {
    const bench = new Bench({ probes: [{ rom }] }).run(5000);
    const [thermometer] = bench.thermometers;
    if (thermometer)
      thermometer.garble = () => Uint8Array.from(bytes.split(' '), (pair) => Number.parseInt(pair, 16));
    const { status = '', raw } = bench.run(16_000).scans()[1]?.of.get(rom) ?? {};
    return raw === null ? status : `${status}${raw}`;
  };

  // TH and TL are as in the parts' EEPROM and not the board's mark, so that a reading comes as restarted.
  // Published samples of genuine parts and clones, CRC last; CRCs recomputed with crc8OfBits() of bench.ts.
  test.each([
    ['a real reading', 'F4 00 4B 46 7F FF 0C 10 FA', 'R244'],
    ['a real reading', 'F3 00 4B 46 7F FF 0D 10 EE', 'R243'],
    ['a real reading', 'F6 00 4B 46 7F FF 0A 10 D6', 'R246'],
    ['genuine power-up', '50 05 4B 46 7F FF 0C 10 1C', 'N1360'],
    ['clone power-up', '50 05 55 00 7F FF 0C 10 21', 'N1360'],
    ['clone power-up', '50 05 55 AA 7F FF 0C 10 AF', 'N1360'],
    ['clone power-up', '50 05 7F 80 7F FF 0C 10 93', 'N1360'],
    // Byte 6 as after a conversion: only the mark, which it has lost, tells it from 85.0.
    ['clone power-up that hides', '50 05 4B 46 7F FF 10 10 BD', 'R1360'],
    ['a published sample with a wrong CRC', '90 01 55 05 7F 7E 81 66 27', 'C'],
    ['one bit off', 'F5 00 4B 46 7F FF 0C 10 FA', 'C'],
    ['all zeros', '00 00 00 00 00 00 00 00 00', 'Z'],
    ['all ones', 'FF FF FF FF FF FF FF FF FF', 'M'],
    ['all ones with a right CRC', 'FF FF FF FF FF FF FF FF C9', 'R-1'],
  ])('%s: %s', (_name, bytes, expected) => {
    expect(judged(bytes)).toBe(expected);
  });

  test('power-up of family 10h', () => {
    expect(judged('AA 00 B4 B9 FF FF 0C 10 18', ROM_OF_DS18S20)).toBe('N1360');
  });

  test('family 10h whose count registers are another part’s: half degrees', () => {
    const bytes = [0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x05, 0x00];
    const text = [...bytes, crc8OfBits(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
    expect(judged(text, ROM_OF_DS18S20)).toBe('R400'); // 50 halves, worked by hand
  });

  test('127.9375, the other value of a part that has not converted', () => {
    const bytes = [0xff, 0x07, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10];
    const text = [...bytes, crc8OfBits(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
    expect(judged(text)).toBe('N2047');
  });
});

describe('a fault shows in the status of its probe', () => {
  // Conversions begin near 0.4, 10.4, 20.4 ... s and are read at most a second later.
  const under = (fault: Fault) =>
    new Bench({
      probes: [
        { rom: ROM, celsius: 31 },
        { rom: OTHER, celsius: -4 },
      ],
      faults: [fault],
    }).run(56_000);

  test('`F` at the first conversion, then `+`', () => {
    const bench = under({ kind: 'restart', rom: 'none', fromMs: 0, toMs: 0 });
    expect(bench.statuses(ROM)).toBe('F+++++');
  });

  test('`M` without a value while its lead is loose, and it keeps its index', () => {
    const bench = under({ kind: 'loose-lead', rom: ROM, fromMs: 15_000, toMs: 35_000 });
    expect(bench.statuses(ROM)).toBe('F+MMRF');
    expect(bench.scans()[2]?.of.get(ROM)?.raw).toBeNull();
    expect(bench.statuses(OTHER)).toBe('F+++++');
    expect(bench.tables().map(({ table }) => table)).toEqual([1]);
  });

  test('`N` when it came back after the conversions began', () => {
    const bench = under({ kind: 'loose-lead', rom: ROM, fromMs: 15_000, toMs: 20_900 });
    expect(bench.statuses(ROM)).toBe('F+NF++');
    expect(bench.scans()[2]?.of.get(ROM)?.raw).toBe(85 * 16);
  });

  test('`N` for family 10h too', () => {
    const faults = [{ kind: 'restart', rom: ROM_OF_DS18S20, fromMs: 20_900, toMs: 20_901 } as const];
    const bench = new Bench({ probes: [{ rom: ROM_OF_DS18S20 }], faults }).run(36_000);
    expect(bench.statuses(ROM_OF_DS18S20)).toBe('F+NF');
  });

  test('`M` for all while the line is shorted', () => {
    const bench = under({ kind: 'short', fromMs: 15_000, toMs: 35_000 });
    expect(bench.statuses(ROM)).toBe('F+MM++');
    expect(bench.statuses(OTHER)).toBe('F+MM++');
    expect(bench.of('H').length).toBeGreaterThan(50);
  });

  test('`C` without a value when a bit is wrong, for that probe alone', () => {
    const bench = under({ kind: 'damaged-scratchpad', rom: ROM, fromMs: 15_000, toMs: 35_000 });
    expect(bench.statuses(ROM)).toBe('F+CC++');
    expect(bench.scans()[2]?.of.get(ROM)?.raw).toBeNull();
    expect(bench.statuses(OTHER)).toBe('F+++++');
  });

  test('`Z` when it sends nothing but zeros, whose CRC would be right', () => {
    const bench = under({ kind: 'all-zero', rom: ROM, fromMs: 15_000, toMs: 35_000 });
    expect(bench.statuses(ROM)).toBe('F+ZZ++');
  });

  test('nothing but right values pass while bits flip at random', () => {
    const bench = under({ kind: 'bit-flips', fromMs: 8000, toMs: 56_000 });
    const readings = bench
      .scans()
      .flatMap(({ of }) => [...of].map(([rom, reading]) => ({ rom, ...reading })));
    expect(readings.some(({ status }) => status === 'C')).toBe(true);
    expect(readings.some(({ status }) => status === '+')).toBe(true);
    for (const { rom, status, raw } of readings)
      if (status === '+' || status === 'F') expect(raw).toBe(rom === ROM ? 31 * 16 : -4 * 16);
  });

  const clone: Fault = { kind: 'clone-power-up-25', rom: ROM, fromMs: 20_900, toMs: 26_000 };

  test('`R` for a clone that wakes with 25.0 unconverted: the mark is gone', () => {
    const bench = under(clone);
    expect(bench.scans()[2]?.of.get(ROM)).toEqual({ status: 'R', raw: 25 * 16 });
    // It restarted a second time when the fault ended.
    expect(bench.statuses(ROM)).toBe('F+RRF+');
  });

  test('and an image without the mark believes that clone (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const bench = new Bench({
      hex: broken('a probe that restarted shows by its mark').hex,
      probes: [{ rom: ROM, celsius: 31 }],
      faults: [clone],
    }).run(23_000);
    expect(bench.scans()[2]?.of.get(ROM)).toEqual({ status: '+', raw: 25 * 16 });
  });

  test('and an image without the CRC believes a damaged value (negative control)', ({ skip }) => {
    skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
    const faults: Fault[] = [{ kind: 'damaged-scratchpad', rom: ROM, fromMs: 15_000, toMs: 35_000 }];
    const hex = broken('a thermometer is believed with its CRC only').hex;
    const bench = new Bench({ hex, probes: [{ rom: ROM, celsius: 31 }], faults }).run(23_000);
    expect(bench.scans()[2]?.of.get(ROM)).toEqual({ status: '+', raw: (31 * 16) ^ 4 });
  });

  test('`R` when it restarts between two scans, and the next value is a first conversion', () => {
    const bench = under({ kind: 'restart', rom: ROM, fromMs: 15_000, toMs: 15_001 });
    expect(bench.statuses(ROM)).toBe('F+RF++');
  });

  test('once as a warning when a probe is lost', () => {
    const bench = under({ kind: 'loose-lead', rom: ROM, fromMs: 15_000, toMs: 35_000 });
    const lost = bench.of('W').filter((line) => line.fields[0] === 'P');
    const index = [...(bench.tables()[0]?.roms ?? [])].find(([, rom]) => rom === ROM)?.[0];
    expect(lost.map((line) => Number.parseInt(line.fields[1] ?? '', 16))).toEqual([index]);
  });

  test('`K` when it does not keep 12 bit', () => {
    const bench = new Bench({ probes: [{ rom: ROM, celsius: 20.3125 }] }).run(15_000);
    const [thermometer] = bench.thermometers;
    if (thermometer)
      thermometer.garble = (bytes) => {
        const data = [...bytes.subarray(0, 8)].map((byte, index) => (index === 4 ? 0x1f : byte));
        return Uint8Array.from([...data, crc8OfBits(data)]);
      };
    expect(bench.run(36_000).statuses(ROM)).toBe('F+KK');
  });

  test('`R` when it restarts at 9 bit, and 12 bit is set again for the next scan', () => {
    const saved = { th: 0x4b, tl: 0x46, configuration: 0x1f };
    const bench = new Bench({
      probes: [{ rom: ROM, celsius: 20.3125, saved }],
      faults: [{ kind: 'restart', rom: ROM, fromMs: 15_000, toMs: 15_001 }],
    }).run(36_000);
    expect(bench.statuses(ROM)).toBe('F+RF');
    expect(bench.scans().map(({ of }) => of.get(ROM)?.raw)).toEqual([325, 325, 320, 325]);
  });
});
