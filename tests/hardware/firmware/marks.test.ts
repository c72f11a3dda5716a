import { ClockChip } from '../../../src/emulator/clockChip.js';
import { EEPROM_BYTES } from '../../../src/emulator/eeprom.js';
import { Bench, type BenchOptions, hex, ROMS } from '../../emulator/bench.js';
import { testRules } from './heldRules.js';
import { press } from './presses.js';

/** Where they lie in the EEPROM (boot.h), and how many it keeps. */
const MARKS_AT = 352;
const KEPT = 48;

function pressed(times: number, image: Partial<BenchOptions>): Bench {
  const clock = new ClockChip({ utcSeconds: 1_790_000_000 });
  const bench = new Bench({ probes: [{ rom: ROMS[0] }], clock, hostListens: false, ...image }).run(5000);
  for (let count = 0; count < times; count += 1) press(bench, 100);
  return bench.run(bench.board.ms + 500);
}

/** The numbers of the marks that the board tells when it is asked for them. */
function told(bench: Bench): string[] {
  const from = bench.lines.length;
  bench.ask('M');
  bench.run(bench.board.ms + 3000);
  return bench.lines.slice(from).flatMap(({ kind, fields }) => (kind === 'M' ? [fields[0]!] : []));
}

testRules([
  {
    rule: 'a setting of the clock is counted',
    // A mark tells how often the clock had been set when it was pressed.
    seen: (image) => {
      const bench = pressed(1, image);
      bench.ask('C', hex(1_790_000_000 + 86_400, 8));
      press(bench, 100);
      return bench
        .run(bench.board.ms + 500)
        .of('M')
        .map(({ fields }) => fields[4]);
    },
    kept: ['00', '01'],
  },
  {
    rule: 'a mark bears no time that the chip did not tell',
    // The chip is gone after ten minutes; the board goes on from what it told, at the pace of its crystal.
    seen: (image) => {
      const clock = new ClockChip({ utcSeconds: 1_790_000_000 });
      const i2cFaults = [{ kind: 'absent', address: clock.address, fromMs: 600_000, toMs: 1e9 } as const];
      const bench = new Bench({ probes: [], clock, i2cFaults, hostListens: false, ...image }).run(60_000);
      press(bench, 100);
      press(bench.run(1_200_000), 100);
      return bench
        .run(bench.board.ms + 500)
        .of('M')
        .map(({ fields }) => fields[3] !== '00000000');
    },
    kept: [true, false],
  },
  {
    rule: 'marks are numbered on from the newest',
    seen: (image) => {
      // The newest lies in the middle of those that are kept.
      const bench = pressed(60, image);
      bench.board.reset('power-on');
      bench.run(bench.board.ms + 2000);
      press(bench, 100);
      return bench.of('M').at(-1)?.fields[0];
    },
    kept: hex(60, 2),
  },
  {
    rule: 'a mark is of a boot that has been',
    // Boots are counted anew, as after another firmware: what lies there is none of this one's.
    seen: (image) => {
      const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
      const before = pressed(0, { ...image, eeprom });
      before.board.reset('power-on');
      before.run(before.board.ms + 5000);
      press(before, 100);
      before.run(before.board.ms + 500);
      eeprom.fill(0xff, 16, 48);
      return [told(before), told(pressed(0, { ...image, eeprom }))];
    },
    kept: [['00'], []],
  },
  {
    rule: 'marks are told in their order',
    seen: (image) => told(pressed(60, image)),
    kept: Array.from({ length: KEPT }, (_, index) => hex(60 - KEPT + index, 2)),
  },
  {
    rule: 'marks are believed with their CRC only',
    seen: (image) => {
      const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
      const bench = pressed(2, { ...image, eeprom });
      const whole = told(bench);
      eeprom[MARKS_AT + 3]! ^= 0x10;
      return [whole, told(bench)];
    },
    kept: [['00', '01'], ['01']],
  },
]);
