import { ClockChip } from '../../src/emulator/clockChip.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';
import { Bench, manyRoms } from '../emulator/bench.js';
import { build, WHY_NO_BUILD } from '../hardware/firmware/build.js';
import { type Row, timed } from './row.js';

const FLASH_BYTES = 32_768;
const RAM_BYTES = 2048;
const CLOCK_HZ = 16_000_000;
const HOURS = 12;
const PERIODS = 60;
const PERIOD_SECONDS = 10;

const board = (hostListens: boolean) =>
  new Bench({
    probes: manyRoms(12).map((rom) => ({ rom })),
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: 1_790_000_000 }),
    hostListens,
  });

/** Cycles that the processor was awake over some scan periods with a host, per period. */
function cyclesAScan(): number {
  const bench = board(true).run(PERIOD_SECONDS * 1000);
  const [ms, slept] = [bench.board.ms, bench.board.sleptMs];
  bench.run((1 + PERIODS) * PERIOD_SECONDS * 1000);
  const awakeMs = bench.board.ms - ms - (bench.board.sleptMs - slept);
  return (awakeMs / 1000 / PERIODS) * CLOCK_HZ;
}

/** Twelve hours without a host; all of it must be in the memory. */
function alone(): void {
  const bench = board(false).run(HOURS * 3_600_000);
  const { fields } = bench.of('J').at(-1)!;
  // Six scans a page of twelve probes, one scan each twenty seconds.
  if (Number.parseInt(fields[2]!, 16) < (HOURS * 180) / 6) throw new Error('the log is too short');
}

const sizes: Row[] =
  WHY_NO_BUILD === null
    ? [
        {
          name: 'firmware: flash',
          against: "the chip's 32768 bytes",
          aim: { atMost: 20_480 / FLASH_BYTES },
          runs: 1,
          unit: 'bytes',
          measure: async () => ({ ours: build().flashBytes, other: FLASH_BYTES }),
        },
        {
          name: 'firmware: variables',
          against: "the chip's 2048 bytes of RAM",
          aim: null,
          runs: 1,
          unit: 'bytes',
          measure: async () => ({ ours: build().ramBytes, other: RAM_BYTES }),
        },
      ]
    : [];

export const rows: readonly Row[] = [
  ...sizes,
  {
    name: 'firmware: awake cycles a scan, 12 probes',
    against: 'all cycles of its 10 s',
    aim: { atMost: 0.04 },
    runs: 1,
    unit: 'cycles',
    measure: async () => ({ ours: cyclesAScan(), other: PERIOD_SECONDS * CLOCK_HZ }),
  },
  {
    name: 'emulation: 12 h alone, 12 probes',
    against: 'the real 12 h',
    aim: { atLeast: 1000 },
    runs: 1,
    measure: async () => ({ ours: (await timed(alone)).seconds, other: HOURS * 3600 }),
  },
];
