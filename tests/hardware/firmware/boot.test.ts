import { describe, expect, test } from 'vitest';
import { EEPROM_BYTES } from '../../../src/emulator/eeprom.js';
import { Bench, manyRoms } from '../../emulator/bench.js';
import { hang } from './hang.js';

const probes = manyRoms(2).map((rom) => ({ rom }));
const blank = () => new Uint8Array(EEPROM_BYTES).fill(0xff);

/** boot count, board id, reset cause of the boot lines whose sequence is 0: one a boot. */
const boots = (bench: Bench) =>
  bench
    .of('B')
    .filter((line) => line.sequence === 0)
    .map(({ boot, fields: [, , id, cause] }) => ({ boot, id, cause }));

describe('the boot line', () => {
  test('tells protocol, firmware, board, cause and that there is no clock chip', () => {
    const bench = new Bench({ probes }).run(1000);
    expect(bench.lines[0]?.fields).toEqual(['03', '0.3.0', expect.stringMatching(/^[0-9A-F]{8}$/), 'P', 'A']);
  });

  test.each([
    ['power-on', 'P'],
    ['external', 'E'],
    ['brown-out', 'N'],
  ] as const)('tells a reset by %s', (reset, cause) => {
    const bench = new Bench({ probes }).run(12_000);
    bench.board.reset(reset);
    bench.run(24_000);
    expect(boots(bench).map((boot) => boot.cause)).toEqual(['P', cause]);
    expect(boots(bench).map((boot) => boot.boot)).toEqual([1, 2]);
    expect(new Set(boots(bench).map((boot) => boot.id)).size).toBe(1);
  });

  test('tells a reset by the watchdog, about two seconds after the program hung', () => {
    const bench = new Bench({ probes }).run(12_000);
    hang(bench);
    const before = bench.lines.length;
    bench.run(20_000);
    expect(boots(bench).map((boot) => boot.cause)).toEqual(['P', 'W']);
    const restart = bench.lines.slice(before).find((line) => line.kind === 'B');
    expect(restart?.atMs).toBeGreaterThan(13_000);
    expect(restart?.atMs).toBeLessThan(14_500);
  });

  test('says unknown when a bootloader has cleared the flags', () => {
    const bench = new Bench({ probes });
    bench.board.cpu.data[0x54] = 0; // MCUSR
    bench.run(1000);
    expect(boots(bench).map((boot) => boot.cause)).toEqual(['U']);
  });

  test('begins a line of its own when the reset cut one short', () => {
    const bench = new Bench({ probes });
    bench.run(3255); // in the middle of a heartbeat line
    bench.board.reset('external');
    bench.run(5000);
    expect(bench.scraps).toContainEqual(expect.stringMatching(/^\$H,[^\n]*\r\n$/));
    expect(boots(bench)).toHaveLength(2);
  });
});

describe('the boot record', () => {
  const firstBoot = (eeprom: Uint8Array, sramSeed = 1) =>
    boots(new Bench({ probes, eeprom, sramSeed }).run(1000))[0];

  test('counts the boots of one board and keeps its id', () => {
    const eeprom = blank();
    const seen = [1, 2, 3, 4, 5].map((sramSeed) => firstBoot(eeprom, sramSeed));
    expect(seen.map((boot) => boot?.boot)).toEqual([1, 2, 3, 4, 5]);
    expect(new Set(seen.map((boot) => boot?.id)).size).toBe(1);
  });

  test('gives another board with other memory contents another id', () => {
    expect(firstBoot(blank(), 1)?.id).not.toBe(firstBoot(blank(), 2)?.id);
  });

  test('goes on from the older copy when a power cut spoilt the newer', () => {
    const eeprom = blank();
    for (let boot = 1; boot <= 3; boot += 1) firstBoot(eeprom);
    const id = firstBoot(eeprom)?.id; // the fourth, at address 32
    eeprom[34] = (eeprom[34] ?? 0) ^ 0x10;
    expect(firstBoot(eeprom)).toEqual({ boot: 4, id, cause: 'P' });
  });

  test('starts over with a new id when both copies are spoilt', () => {
    const eeprom = blank();
    const { id } = firstBoot(eeprom) ?? {};
    firstBoot(eeprom);
    for (const address of [18, 34]) eeprom[address] = (eeprom[address] ?? 0) ^ 0x10;
    expect(firstBoot(eeprom, 9)?.boot).toBe(1);
    expect(firstBoot(eeprom, 9)?.id).not.toBe(id);
  });

  test('survives a power cut at any time of its writing', () => {
    for (let cutMs = 1; cutMs <= 61; cutMs += 5) {
      const eeprom = blank();
      const { id } = firstBoot(eeprom) ?? {};
      const cut = new Bench({ probes, eeprom }).run(cutMs);
      cut.board.reset('power-on');
      cut.run(1000);
      const boot = boots(cut).at(-1);
      expect(boot?.id).toBe(id);
      expect([2, 3]).toContain(boot?.boot);
    }
  });

  test('counts on across FFFF', () => {
    const eeprom = blank();
    firstBoot(eeprom);
    const [bytes, address] = [eeprom.slice(16, 24), 16];
    bytes.set([0xff, 0xff]);
    const crc = crcOfRecord(bytes.subarray(0, 6));
    bytes.set([crc & 0xff, crc >> 8], 6);
    eeprom.set(bytes, address);
    expect([firstBoot(eeprom)?.boot, firstBoot(eeprom)?.boot]).toEqual([0, 1]);
  });
});

/** CRC-16/CCITT-FALSE over bytes. */
function crcOfRecord(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit += 1) crc = ((crc << 1) ^ (crc & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return crc;
}
