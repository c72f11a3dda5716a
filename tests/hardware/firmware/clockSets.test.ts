import { readPage } from '../../../src/carrier/wire/logPage.js';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { EEPROM_BYTES } from '../../../src/emulator/eeprom.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { Bench, type BenchOptions, command, hex, ROMS } from '../../emulator/bench.js';
import { testRules } from './heldRules.js';

const UTC = 1_790_000_000;
const DAY = 86_400;
/** Where the record of an odd count lies in the EEPROM: settings.c */
const THIRD_AT = 54;

const board = (image: Partial<BenchOptions>, memory?: SerialMemory) =>
  new Bench({
    probes: [{ rom: ROMS[0] }],
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
    ...(memory && { memory }),
    ...image,
  }).run(2000);
/** How often the clock was set, by the last line that tells. */
const told = (bench: Bench): number => Number.parseInt(bench.of('C').at(-1)?.fields[2] ?? '', 16);
const setTo = (utc: number) => ['C', hex(utc, 8)] as const;

function restarted(bench: Bench): Bench {
  bench.board.reset('power-on');
  return bench.run(bench.board.ms + 1000);
}

/** What is left when the supply is cut `ms` after the last byte of a setting has come. */
function cutAfter(image: Partial<BenchOptions>, ms: number) {
  const bench = board(image);
  const before = told(bench);
  bench.hear(command('C', 1, hex(UTC + DAY, 8)));
  bench.run(bench.board.ms + ms);
  const from = bench.of('C').length;
  const [, utc = '', sets = ''] = restarted(bench).of('C')[from]?.fields ?? [];
  return {
    isCounted: Number.parseInt(sets, 16) !== before,
    isSet: Number.parseInt(utc, 16) > UTC + DAY / 2,
  };
}

testRules([
  {
    rule: 'a setting of the clock is counted',
    seen: (image) => {
      const bench = board(image);
      const after = (day: number) => {
        bench.ask(...setTo(UTC + day * DAY));
        return told(bench);
      };
      return [told(bench), after(0), after(1), after(2)];
    },
    kept: [0, 1, 2, 3],
  },
  {
    rule: 'the count of settings is kept',
    seen: (image) => {
      const bench = board(image);
      bench.ask(...setTo(UTC));
      bench.ask(...setTo(UTC + DAY));
      return told(restarted(bench));
    },
    kept: 2,
  },
  {
    rule: 'a setting is counted before it is made',
    seen: (image) => {
      const cuts = Array.from({ length: 60 }, (_, index) => cutAfter(image, index / 4));
      return {
        setAndNotCounted: cuts.filter(({ isSet, isCounted }) => isSet && !isCounted).length,
        isEitherSeen: [false, true].map((is) => cuts.some(({ isSet }) => isSet === is)),
      };
    },
    kept: { setAndNotCounted: 0, isEitherSeen: [true, true] },
  },
  {
    rule: 'a count of settings is believed with its CRC only',
    // A power cut while the third is written: the second stands.
    seen: (image) => {
      const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
      const bench = board({ ...image, eeprom });
      for (const day of [0, 1, 2]) bench.ask(...setTo(UTC + day * DAY));
      eeprom[THIRD_AT] = 0x43;
      return told(restarted(bench));
    },
    kept: 2,
  },
  {
    rule: 'a setting has a table page before the next scan',
    seen: (image) => {
      const memory = new SerialMemory();
      const bench = board(image, memory);
      bench.run(45_000);
      bench.ask(...setTo(UTC + DAY));
      bench.run(90_000);
      const pages = Array.from({ length: 5 }, (_, at) =>
        readPage(memory.bytes.subarray(at * 128, at * 128 + 128)),
      );
      return pages.flatMap((page) => {
        if (page?.kind === 'table') return [`table, set ${page.sets}`];
        const low = page === null ? 0 : memory.bytes[(page.page % 512) * 128 + 7]! >> 6;
        return page?.kind === 'scans' ? [`scans, set ${low} modulo 4`] : [];
      });
    },
    kept: ['table, set 0', 'scans, set 0 modulo 4', 'table, set 1', 'scans, set 1 modulo 4'],
  },
]);
