import { describe, expect, test } from 'vitest';
import { ClockChip } from '../../../src/emulator/clockChip.js';
import { SerialMemory } from '../../../src/emulator/serialMemory.js';
import { seededChance } from '../../../src/units/clock.js';
import { Bench, command, hex, ROMS } from '../../emulator/bench.js';
import { broken, type FirmwareRule } from './broken.js';
import { WHY_NO_BUILD } from './build.js';

const ROM = ROMS[0].replaceAll('-', '');
const UTC = 1_790_000_000;

/** A board with settings, due times and an acknowledgement of its own. */
function boardInUse(image?: string): Bench {
  const bench = new Bench({
    probes: [{ rom: ROMS[0], celsius: 20 }],
    memory: new SerialMemory(),
    clock: new ClockChip({ utcSeconds: UTC }),
    hostListens: false,
    ...(image && { hex: image }),
  }).run(5000);
  expect(bench.ask('P', '0C', '19')).toEqual(['K']);
  expect(bench.ask('L', '03', ROM, '00F8', '0280')).toEqual(['K']);
  expect(bench.ask('D', '03', '6AB20000')).toEqual(['K']);
  bench.run(bench.board.ms + 90_000);
  expect(bench.ask('K', '000001')).toEqual(['K']);
  return bench;
}

const GOOD: readonly (readonly [string, ...string[]])[] = [
  ['L', '01', ROM, '0010', '0020'],
  ['L', '03', ROM, '0010', '0020'],
  ['D', '03', '6AB30000'],
  ['P', '0A', '14'],
  ['K', '000002'],
  ['C', hex(UTC + 1_000_000, 8)],
];

/** Ways to talk nonsense: each draws one piece of it. */
const NONSENSE: Readonly<Record<string, (below: (limit: number) => number) => string>> = {
  'any bytes': (below) => bytes(40, below),
  'a good command with one bit flipped': (below) => {
    const [letter, ...fields] = GOOD[below(GOOD.length)]!;
    const whole = command(letter, below(256), ...fields);
    const at = 1 + below(whole.length - 3);
    const flipped = String.fromCharCode(whole.charCodeAt(at) ^ (1 << below(7)));
    return whole.slice(0, at) + flipped + whole.slice(at + 1);
  },
  'a right CRC over a field too many, too few or too short': (below) => {
    const [letter, ...fields] = GOOD[below(GOOD.length)]!;
    const wrong = [[...fields, '0'], fields.slice(0, -1), [...fields.slice(0, -1), '0']][below(3)]!;
    return command(letter, below(256), ...wrong);
  },
  'a line that is far too long': (below) => `!${bytes(250, below).replaceAll('\n', ' ')}\n`,
  'a line that is hardly one': () => '!\n',
};
const bytes = (count: number, below: (limit: number) => number) =>
  String.fromCharCode(...Array.from({ length: count }, () => below(256)));

/** All that nonsense, one kind after the other, without a pause. */
function disturb(bench: Bench, count: number): void {
  const { uniform } = seededChance(5);
  const kinds = Object.values(NONSENSE);
  for (const draw of kinds)
    for (let sent = 0; sent < count / kinds.length; ) {
      const text = draw((limit) => Math.floor(uniform() * limit));
      bench.hear(text);
      sent += text.length;
    }
  // The board may have no room for the byte that would end the last line while it still answers those before.
  bench.run(bench.board.ms + 1000);
  bench.hear('\n').run(bench.board.ms + 1000);
}

/** The longest time without a heartbeat, up to now, ms. */
function longestSilence(bench: Bench): number {
  const times = [...bench.of('H').map(({ atMs }) => atMs), bench.board.ms];
  return Math.max(...times.slice(1).map((time, index) => time - times[index]!));
}

/** Seconds that the newest clock frame is off, or null when the clock has no time. */
function clockError(bench: Bench): number | null {
  const { atMs, fields } = bench.of('C').at(-1)!;
  return fields[0] === 'R' ? Math.abs(Number.parseInt(fields[1]!, 16) - (UTC + atMs / 1000)) : null;
}

/** Whether each line is the next after the one before. */
const goesOn = ({ lines }: Bench): boolean =>
  lines.slice(1).every(({ sequence }, index) => sequence === (lines[index]!.sequence + 1) % 65_536);

/** What bytes on the line may not change. */
function kept(bench: Bench) {
  const from = bench.lines.length;
  bench.ask('T');
  bench.run(bench.board.ms + 500);
  const settings = bench.lines.slice(from).filter(({ kind }) => kind === 'T' || kind === 'E');
  // The minute's clock and log state.
  bench.run(bench.board.ms + 61_000);
  return {
    boots: bench.of('B').filter(({ sequence }) => sequence === 0).length,
    settings: settings.map(({ fields }) => fields.join()),
    acknowledged: bench.of('J').at(-1)?.fields[3],
    // The second that has begun, told up to half a second late.
    clockIsRight: (clockError(bench) ?? Number.POSITIVE_INFINITY) < 1.5,
    heartBeats: longestSilence(bench) < 1000,
    linesGoOn: goesOn(bench),
  };
}
type Kept = ReturnType<typeof kept>;

const KEPT: Kept = {
  boots: 1,
  settings: ['0C,19,01', `03,${ROM},00F8,0280,6AB20000`],
  acknowledged: '000001',
  clockIsRight: true,
  heartBeats: true,
  linesGoOn: true,
};

describe('bytes that are no commands change nothing', () => {
  test('100,000 of them', () => {
    const bench = boardInUse();
    expect(kept(bench)).toEqual(KEPT);
    disturb(bench, 100_000);
    // Most of it was heard, and refused: as damaged, as too long, and by its fields.
    const answers = bench.of('A').map(({ fields }) => fields[2]);
    expect(answers.length).toBeGreaterThan(1000);
    for (const result of ['C', 'L', 'F'])
      expect(answers.filter((answer) => answer === result).length).toBeGreaterThan(100);
    expect(kept(bench)).toEqual(KEPT);
  });

  test.skipIf(WHY_NO_BUILD).each<{ rule: FirmwareRule; spoils: readonly (keyof Kept)[] }>([
    {
      rule: 'a command is obeyed with its CRC only',
      spoils: ['settings', 'acknowledged', 'clockIsRight'],
    },
    // What lies behind the buffer is the linker's choice: now the sequence of lines.
    { rule: 'a command that is too long is cut off', spoils: ['linesGoOn'] },
    { rule: 'a turn of the loop takes one command', spoils: ['boots', 'heartBeats'] },
  ])(
    'but half of them spoils an image without the rule that $rule (negative control)',
    ({ rule, spoils }) => {
      const bench = boardInUse(broken(rule).hex);
      disturb(bench, 50_000);
      const after = kept(bench);
      for (const what of spoils) expect(after[what]).not.toEqual(KEPT[what]);
    },
  );
});
