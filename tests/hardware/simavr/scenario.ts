import { ClockChip } from '../../../src/emulator/clockChip.js';
import type { Fault } from '../../../src/emulator/faults.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, command, manyRoms, ROM_OF_DS18S20 } from '../../emulator/bench.js';

/** Eleven DS18B20 and a DS18S20. */
export const ROMS = [...manyRoms(11), ROM_OF_DS18S20];
/** Sixteenths that these keep: 20.0, -0.75, -55, 125, 0, and 85.0, measured and not woken up with. */
export const CONSTANT = [320, -12, -880, 2000, 0, 1360] as const;
/** Probe whose lead is off for a while, and one whose CRC is wrong for a while. */
const LOOSE = 3;
const DAMAGED = 5;

const END_MS = 310_000;
const SRAM_BYTES = 2048;
const SRAM_SEED = 1;

type Moment = { readonly ms: number } & (
  | { readonly does: 'warm'; readonly probe: number; readonly sixteenths: number }
  | { readonly does: 'off' | 'back' | 'damaged' | 'whole'; readonly probe: number }
  | { readonly does: 'say'; readonly text: string }
  | { readonly does: 'press' | 'release' | 'hang' }
);

const bare = (rom: string) => rom.replaceAll('-', '');
const say = (ms: number, letter: string, sequence: number, ...fields: string[]): Moment => ({
  ms,
  does: 'say',
  text: command(letter, sequence, ...fields).trimEnd(),
});

/** Probes from 6 on change every seven seconds, one of them below zero, by whole sixteenths. */
const changing: Moment[] = [];
for (let ms = 0; ms < END_MS; ms += 7000)
  for (let probe: number = CONSTANT.length; probe < ROMS.length; probe += 1)
    changing.push({
      ms,
      does: 'warm',
      probe,
      sixteenths: 380 + Math.round(ms / 3000) + probe * 3 - (probe === 10 ? 700 : 0),
    });

/** Five minutes with two absences of a host, two faults, both presses of the button and a hang. */
const moments: readonly Moment[] = (
  [
    ...CONSTANT.map((sixteenths, probe) => ({ ms: 0, does: 'warm', probe, sixteenths }) as const),
    ...changing,
    say(5100, 'I', 1),
    say(6100, 'C', 2, '6AB20000'),
    say(8100, 'P', 3, '0C', '14'),
    say(9100, 'L', 4, '03', bare(ROMS[0] ?? ''), '0100', '0130'), // 20.0 is too hot
    say(9700, 'D', 5, '03', '6AB20060'),
    { ms: 10_100, does: 'say', text: '!I,06*0000' }, // damaged
    say(40_100, 'I', 7),
    { ms: 60_000, does: 'off', probe: LOOSE },
    say(80_100, 'I', 8),
    { ms: 90_000, does: 'damaged', probe: DAMAGED },
    { ms: 110_100, does: 'press' },
    { ms: 110_250, does: 'release' },
    { ms: 120_000, does: 'back', probe: LOOSE },
    say(120_100, 'I', 9),
    { ms: 130_000, does: 'whole', probe: DAMAGED },
    { ms: 140_100, does: 'press' },
    { ms: 141_600, does: 'release' },
    say(160_100, 'I', 10),
    { ms: 200_100, does: 'hang' },
    say(240_100, 'T', 11),
    say(260_100, 'M', 12),
    say(280_100, 'R', 13, '000001', 'FFFF'),
    say(300_100, 'S', 14),
  ] satisfies Moment[]
).toSorted((a, b) => a.ms - b.ms);

function written(moment: Moment): string {
  if (moment.does === 'warm') return `warm ${moment.probe} ${moment.sixteenths}`;
  if (moment.does === 'say') return `say ${moment.text}`;
  return 'probe' in moment ? `${moment.does} ${moment.probe}` : moment.does;
}

/** What the SRAM holds at power-on in either board: the board's id is made from it. */
function sram(): string {
  const chance = seededChance(SRAM_SEED);
  return Array.from({ length: SRAM_BYTES }, () =>
    Math.floor(chance.uniform() * 256)
      .toString(16)
      .padStart(2, '0'),
  ).join('');
}

/** The scenario, or its beginning, as the board on simavr reads it. */
export function script(endMs: number = END_MS): string {
  return [
    ...ROMS.map((rom) => `probe ${bare(rom)}`),
    `sram ${sram()}`,
    ...moments.filter(({ ms }) => ms < endMs).map((moment) => `${moment.ms} ${written(moment)}`),
    `${endMs} end`,
    '',
  ].join('\n');
}

const fault = (kind: Fault['kind'], probe: number, begins: Moment['does'], ends: Moment['does']): Fault => {
  const at = (does: Moment['does']) => moments.find((moment) => moment.does === does)?.ms ?? 0;
  return { kind, rom: ROMS[probe] ?? '', fromMs: at(begins), toMs: at(ends) };
};

/** The probe's temperature, degrees Celsius, at `ms`. */
function temperature(probe: number): (ms: number) => number {
  const steps = moments.filter((moment) => moment.does === 'warm' && moment.probe === probe);
  return (ms) => {
    const step = steps.findLast((each) => each.ms <= ms);
    return (step?.does === 'warm' ? step.sixteenths : 0) / 16;
  };
}

/** The same scenario on the emulated board. */
export function runEmulated(): { bench: Bench; memory: SerialMemory } {
  const memory = new SerialMemory();
  const bench = new Bench({
    probes: ROMS.map((rom, probe) => ({ rom, celsius: temperature(probe) })),
    faults: [
      fault('loose-lead', LOOSE, 'off', 'back'),
      fault('damaged-scratchpad', DAMAGED, 'damaged', 'whole'),
    ],
    memory,
    clock: new ClockChip({ utcSeconds: 0, hadStopped: true }),
    hostListens: false,
    sramSeed: SRAM_SEED,
  });
  for (const moment of moments) {
    bench.run(moment.ms);
    if (moment.does === 'say') bench.hear(`${moment.text}\r\n`);
    else if (moment.does === 'press' || moment.does === 'release') bench.board.press(moment.does === 'press');
    else if (moment.does === 'hang') bench.board.cpu.pc = bench.board.cpu.progMem.indexOf(0xcfff);
  }
  bench.run(END_MS);
  return { bench, memory };
}
