import { scenarioBoard } from '../../src/carrier/emulated/scenarioBoard.js';
import { encodeCommand } from '../../src/carrier/wire/command.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { crc8, parseRomId } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { utcMs } from '../../src/units/time.js';
import { type Row, timed } from './row.js';

const PROBES = 12;
const HOURS = 3;
/** What a host says every 20 s. */
const HOST_IS_THERE = encodeCommand({ name: 'resend', page: 1, count: 0 }, 0, utcMs(0));

/** A ROM id of the genuine pattern with an invented serial number. */
function invented(serial: number) {
  const bytes = [0x28, serial, 0x51, 0x0c, 0x3a, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
}

function threeHours(): void {
  const day = findScenario('warm-day')!;
  const slots = Array.from({ length: PROBES }, (_, index) => ({ slot: index + 1, rom: invented(index + 1) }));
  const carrier = { ...day.carriers[0]!, slots, faults: [] };
  const scenario = {
    ...day,
    carriers: [carrier],
    vehicle: () => ({ probe: () => celsius(30), cup: () => celsius(30) }),
  };
  const board = scenarioBoard(scenario, carrier);
  const lines = Array.from({ length: HOURS * 180 }, (_, index) =>
    board.run((index + 1) * 20_000, HOST_IS_THERE),
  ).flat();
  const scans = lines.filter(({ bytes }) => bytes[1] === 'S'.charCodeAt(0)).length;
  // Two lines a scan of twelve probes, one scan each ten seconds.
  if (scans < 2 * HOURS * 360 - 4) throw new Error(`only ${scans} scan lines in ${HOURS} hours`);
  if (board.violations().size > 0) throw new Error('timing violations');
}

export const rows: readonly Row[] = [
  {
    name: 'emulation: 3 h of 12 probes',
    against: 'the real 3 h',
    aim: { atLeast: 1000 },
    runs: 3,
    measure: async () => ({ ours: (await timed(threeHours)).seconds, other: HOURS * 3600 }),
  },
];
