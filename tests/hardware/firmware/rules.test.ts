import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { EEPROM_BYTES } from '../../../src/emulator/eeprom.js';
import type { Fault } from '../../../src/emulator/faults.js';
import { SLOWEST } from '../../../src/emulator/oneWireTiming.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { installedPath } from '../../../src/units/installed.js';
import { Bench, type BenchOptions, command, hex, manyRoms, ROMS } from '../../emulator/bench.js';
import { FIRMWARE_RULES } from './broken.js';
import { testRules } from './heldRules.js';
import { live, readBack } from './logged.js';
import { press } from './presses.js';

const UTC = 1_790_000_000;
const [ONE, OTHER] = ROMS;
const text = (rom: string) => rom.replaceAll('-', '');
/** A limit, in sixteenths as commands write it. */
const limit = (celsius: number | null) => (celsius === null ? '8000' : hex(celsius * 16, 4));
/** Where the records lie in the EEPROM: boot.h */
const [PERIODS_AT, SLOTS_AT] = [48, 64];

const desk = (image: Partial<BenchOptions>, more: Partial<BenchOptions> = {}) =>
  new Bench({
    probes: [{ rom: ONE }],
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
    ...image,
    ...more,
  }).run(5000);

const seconds = (ms: number) => Math.round(ms / 1000);

/** Slots to act on, and whether they are muted, after each of some times. */
function alarmsAt(bench: Bench, ...times: readonly number[]): string[] {
  return times.map((ms) => {
    const told = bench.run(ms).of('Y').at(-1);
    return told === undefined ? 'none' : `${told.fields[0]}${told.fields[2] === '1' ? ' muted' : ''}`;
  });
}

function settings(bench: Bench): string[] {
  const from = bench.lines.length;
  bench.ask('T');
  bench.run(bench.board.ms + 300);
  return bench.lines
    .slice(from)
    .filter(({ kind }) => kind === 'T' || kind === 'E')
    .map(({ fields }) => fields.join());
}

testRules([
  {
    rule: 'a clock chip that once stopped is not believed',
    seen: (image) => {
      const clock = new ClockChip({ utcSeconds: UTC });
      const bench = desk(image, { clock });
      clock.stopOscillator();
      bench.board.reset('power-on');
      return bench.run(10_000).of('C').at(-1)?.fields;
    },
    kept: ['S', '00000000', '00'],
  },
  {
    rule: 'a clock chip that is lost is told',
    seen: (image) => {
      const clock = new ClockChip({ utcSeconds: UTC });
      const i2cFaults = [{ kind: 'absent', address: clock.address, fromMs: 20_000, toMs: 1e9 } as const];
      const bench = desk(image, { clock, i2cFaults, memory: new SerialMemory() }).run(400_000);
      return bench.of('W').map(({ fields }) => fields.join());
    },
    kept: ['C,0000'],
  },
  {
    rule: 'a host that is silent for a minute is forgotten',
    seen: (image) => {
      const bench = desk(image);
      bench.ask('I');
      const began = bench.run(150_000).scans();
      return began.slice(1).map(({ boardMs }, index) => seconds(boardMs - began[index]!.boardMs));
    },
    // The last command came at 5 s: 10 s with a host, 20 s alone.
    kept: [10, 10, 10, 10, 10, 10, 20, 20, 20, 20],
  },
  {
    rule: 'the periods that a host set are kept to',
    seen: (image) => {
      const bench = desk(image);
      bench.ask('P', '0C', '19');
      const began = bench.run(160_000).scans();
      return began.slice(1).map(({ boardMs }, index) => seconds(boardMs - began[index]!.boardMs));
    },
    // 12 s with a host, which was heard last at 5 s, and 25 s alone.
    kept: [12, 12, 12, 12, 12, 25, 25, 25],
  },
  {
    rule: 'a probe that is lost again is told again',
    seen: (image) => {
      const faults: Fault[] = [20_000, 80_000].map((fromMs) => ({
        kind: 'loose-lead',
        rom: ONE,
        fromMs,
        toMs: fromMs + 35_000,
      }));
      const bench = desk(image, { probes: [{ rom: ONE }, { rom: OTHER }], faults }).run(150_000);
      return bench.of('W').filter(({ fields }) => fields[0] === 'P').length;
    },
    kept: 2,
  },
  {
    rule: 'leap days are counted',
    // Over midnight after each of these days; whether the board then tells the right second.
    seen: (image) =>
      ['2026-12-31', '2027-02-28', '2028-02-28', '2028-02-29', '2030-06-30', '2099-12-30'].map((day) => {
        const utcSeconds = Date.parse(`${day}T23:59:00Z`) / 1000;
        const bench = desk(image, { clock: new ClockChip({ utcSeconds }) }).run(130_000);
        const { fields, atMs } = bench.of('C').at(-1)!;
        return Math.abs(Number.parseInt(fields[1]!, 16) - utcSeconds - atMs / 1000) < 1.5;
      }),
    kept: [true, true, true, true, true, true],
  },
  {
    rule: 'a memory may take ten milliseconds to write',
    // FRAM takes no time, slow EEPROM ten milliseconds; whether all scans told are in the log, and no warning.
    seen: (image) =>
      [0, 5, 10].map((writeMs) => {
        const bench = desk(image, { memory: new SerialMemory({ writeMs }) }).run(300_000);
        const told = live(bench);
        const kept = new Set(readBack(bench).map(({ scan }) => scan));
        return bench.of('W').length === 0 && told.length > 10 && told.every(({ scan }) => kept.has(scan));
      }),
    kept: [true, true, true],
  },
  {
    rule: 'what is refused is no host',
    seen: (image) => {
      const bench = desk(image);
      const damaged = command('I', 1).replace('*', 'X');
      for (const nonsense of [command('X', 1), command('P', 2, '01', '01'), damaged])
        bench.hear(nonsense).run(bench.board.ms + 300);
      const answers = bench.of('A').map(({ fields }) => fields[2]);
      const began = bench.run(65_000).scans();
      return [
        ...answers,
        ...began.slice(1).map(({ boardMs }, index) => seconds(boardMs - began[index]!.boardMs)),
      ];
    },
    kept: ['U', 'R', 'C', 20, 20, 20],
  },
  {
    rule: 'a search that is asked for is made at once',
    seen: (image) => {
      const faults: Fault[] = [{ kind: 'loose-lead', rom: OTHER, fromMs: 0, toMs: 15_000 }];
      const bench = desk(image, { probes: [{ rom: ONE }, { rom: OTHER }], faults }).run(16_000);
      bench.ask('S');
      return bench
        .run(19_000)
        .tables()
        .map(({ roms }) => roms.size);
    },
    kept: [1, 2],
  },
  {
    rule: 'what was acknowledged stays so',
    seen: (image) => {
      const bench = desk(image, { memory: new SerialMemory(), hostListens: true }).run(40_000);
      for (const page of [1, 0]) bench.ask('K', hex(page, 6));
      bench.ask('I');
      return bench
        .run(bench.board.ms + 300)
        .of('J')
        .at(-1)?.fields[3];
    },
    kept: hex(1, 6),
  },
  {
    rule: 'what is too hot is an alarm',
    seen: (image) => {
      const bench = desk(image, { probes: [{ rom: ONE, celsius: (ms) => (ms < 30_000 ? 20 : 41) }] });
      bench.ask('L', '03', text(ONE), limit(null), limit(40));
      return alarmsAt(bench, 29_000, 60_000);
    },
    kept: ['none', '0004'],
  },
  {
    rule: 'an alarm ends well inside the limit only',
    seen: (image) => {
      // A quarter of a degree: hot past 24, cold past 16.
      const course = [20, 25, 23.9, 23.7, 15, 16.1, 16.3];
      const bench = desk(image, {
        probes: [{ rom: ONE, celsius: (ms) => course[Math.floor(ms / 60_000)] ?? 20 }],
      });
      bench.ask('L', '01', text(ONE), limit(16), limit(24));
      return alarmsAt(bench, ...course.map((_, index) => (index + 1) * 60_000 - 1000));
    },
    kept: ['none', '0001', '0001', '0000', '0001', '0001', '0000'],
  },
  {
    rule: 'a reading that is none raises no alarm',
    seen: (image) => {
      // It restarts while it converts and holds 85.0 then.
      const faults: Fault[] = [{ kind: 'restart', rom: ONE, fromMs: 40_900, toMs: 45_000 }];
      const bench = desk(image, { faults });
      // A host listens to the end, or the next scan would come later.
      bench.ask('L', '01', text(ONE), limit(null), limit(40));
      return [alarmsAt(bench, 60_000), bench.statuses(ONE).includes('N')];
    },
    kept: [['none'], true],
  },
  {
    rule: 'a reading that is none ends no alarm',
    seen: (image) => {
      const faults: Fault[] = [{ kind: 'loose-lead', rom: ONE, fromMs: 35_000, toMs: 65_000 }];
      const bench = desk(image, { probes: [{ rom: ONE, celsius: 41 }], faults });
      bench.ask('L', '01', text(ONE), limit(null), limit(40));
      return [alarmsAt(bench, 30_000, 60_000), bench.statuses(ONE).includes('M')];
    },
    kept: [['0001', '0001'], true],
  },
  {
    rule: 'other limits end an alarm',
    seen: (image) => {
      const bench = desk(image, { probes: [{ rom: ONE, celsius: 41 }] });
      bench.ask('L', '01', text(ONE), limit(null), limit(40));
      const before = alarmsAt(bench, 30_000);
      bench.ask('L', '01', text(ONE), limit(null), limit(45));
      return [...before, ...alarmsAt(bench, bench.board.ms + 200)];
    },
    kept: ['0001', '0000'],
  },
  {
    rule: 'a new alarm ends the muting',
    seen: (image) => {
      const probes = [
        { rom: ONE, celsius: 41 },
        { rom: OTHER, celsius: (ms: number) => (ms < 60_000 ? 20 : 41) },
      ];
      const bench = desk(image, { probes });
      for (const [slot, rom] of [ONE, OTHER].entries())
        bench.ask('L', hex(slot + 1, 2), text(rom), limit(null), limit(40));
      const before = alarmsAt(bench, 30_000);
      press(bench, 1500);
      return [...before, ...alarmsAt(bench, 59_000, 90_000)];
    },
    kept: ['0001', '0001 muted', '0003'],
  },
  {
    rule: 'the first conversion after a restart is told apart',
    seen: (image) => {
      const faults: Fault[] = [{ kind: 'restart', rom: ONE, fromMs: 15_000, toMs: 15_001 }];
      const bench = desk(image, { faults });
      bench.ask('I');
      return bench.run(55_000).statuses(ONE);
    },
    kept: 'F+RF++',
  },
  {
    rule: 'settings of a slot are believed with their CRC only',
    seen: (image) => {
      const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
      const bench = desk(image, { eeprom });
      bench.ask('L', '01', text(ONE), limit(16), limit(40));
      bench.run(bench.board.ms + 200);
      const whole = settings(bench).length;
      eeprom[SLOTS_AT + 9]! ^= 0x10;
      return [whole, settings(bench).length];
    },
    kept: [2, 1],
  },
  {
    rule: 'periods are believed with their CRC only',
    seen: (image) => {
      const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
      const bench = desk(image, { eeprom });
      bench.ask('P', '0C', '19');
      bench.run(bench.board.ms + 200);
      const whole = settings(bench);
      eeprom[PERIODS_AT]! ^= 0x10;
      return [...whole, ...settings(bench)];
    },
    // 12 and 25 s as set, then 10 and 20 s as built.
    kept: ['0C,19,00', '0A,14,00'],
  },
  {
    rule: 'a conversion is waited for',
    seen: (image) =>
      desk(image, { probes: [{ rom: ONE, times: SLOWEST }] })
        .run(26_000)
        .statuses(ONE),
    kept: 'F+',
  },
  {
    rule: 'a page holds scans in its rhythm only',
    seen: (image) => {
      const roms = manyRoms(16);
      const probes = roms.map((rom) => ({ rom }));
      const bench = desk(image, { probes, memory: new SerialMemory() }).run(20_000);
      for (const [slot, rom] of roms.entries()) bench.ask('L', hex(slot + 1, 2), text(rom), '0010', '0280');
      // Each turn of the loop takes long while all settings are told, and a search takes many: a scan comes late.
      for (let round = 0; round < 3; round += 1) {
        bench.run(bench.board.ms + 9000 - ((bench.board.ms + 600) % 10_000));
        bench.hear(command('S', 0));
        for (let count = 1; count <= 40; count += 1) bench.hear(command('T', count)).run(bench.board.ms + 50);
        bench.run(bench.board.ms + 20_000);
      }
      const told = new Map(live(bench).map(({ scan, ms }) => [scan, ms]));
      const off = readBack(bench).map(({ scan, ms }) => Math.abs(ms - (told.get(scan) ?? ms)));
      const late = [...told.values()].filter((ms) => (ms - 400) % 10_000 > 500);
      return [late.length > 0, off.length > 5, Math.max(...off) <= 500];
    },
    kept: [true, true, true],
  },
]);

test('each broken image is made by some test', () => {
  const folder = dirname(installedPath('tests/hardware/firmware/broken.ts'));
  const tests = readdirSync(folder)
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => readFileSync(join(folder, name), 'utf8'));
  const unused = FIRMWARE_RULES.filter((rule) => !tests.some((source) => source.includes(`'${rule}'`)));
  expect(unused).toEqual([]);
});
