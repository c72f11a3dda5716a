import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream, existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { scenarioBoard } from '../../src/carrier/emulated/scenarioBoard.js';
import { PHYSICS } from '../../src/emulator/physics.js';
import { fixedErrorOf, peculiarityOf } from '../../src/emulator/probeError.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { openStoreToRead } from '../../src/store/store.js';
import type { RomId } from '../../src/units/ids.js';
import { Refusal } from '../../src/units/refusal.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { start, stillwarm, until } from './program.js';

const { slots } = findScenario('ice-bath')!.carriers[0]!;
const trueOffset = (rom: RomId) => fixedErrorOf(rom, PHYSICS.probeOffsetCelsiusMax);
const romIn = (slot: number) => slots[slot - 1]!.rom;

let folder: string;
allInNewFolder((fresh) => {
  folder = fresh;
});

/** The emulated bench with the real firmware image, as fast as it runs, in a store of its own unless named. */
let stores = 0;
const freshStore = () => {
  stores += 1;
  return join(folder, `${stores}.sqlite`);
};
const probe = (command: string, bench: string, store = freshStore(), ...more: string[]) =>
  stillwarm(
    'probe',
    command,
    ...['--emulate', bench, '--speed', 'max', '--by', 'Rika', '--store', store],
    ...more,
  );
const factsIn = (path: string) => {
  const store = openStoreToRead(path);
  try {
    return store.facts().map(({ fact }) => fact);
  } finally {
    store.close();
  }
};

/** Whether there is a store already with what a logger says first; before that it may be an empty file. */
const isLogged = (path: string) => {
  try {
    return existsSync(path) && factsIn(path).length > 2;
  } catch (error) {
    if (error instanceof Refusal) return false;
    throw error;
  }
};

interface Ice {
  readonly accepted: readonly {
    readonly rom: RomId;
    readonly offset: number;
    readonly uncertainty: number;
  }[];
  readonly refused: readonly { readonly name: string; readonly why: string }[];
}

describe.concurrent('commissioning on an emulated bench', () => {
  it('`probe ice` finds the true offsets, `probe map` the places, and both narrow U', async () => {
    const store = freshStore();
    const ice = await probe('ice', 'ice-bath', store, '--json');
    expect(ice.code).toBe(0);
    const { accepted, refused } = JSON.parse(ice.out) as Ice;
    expect(refused).toEqual([]);
    expect(accepted).toHaveLength(10);
    for (const { rom, offset, uncertainty } of accepted) {
      // The mean of 20 readings rounded to sixteenths, noise 0.03 either way.
      expect(Math.abs(offset - trueOffset(rom))).toBeLessThan(0.03);
      expect(uncertainty).toBeLessThan(0.105);
    }
    const map = await probe('map', 'bath-then-cups', store, '--bath', '5', '--json');
    expect({ code: map.code, err: map.err }).toEqual({ code: 0, err: '' });
    const { map: fact } = JSON.parse(map.out) as {
      map: { uncertainty: number; places: { slot: number; difference: number }[] };
    };
    const truth = slots.map(({ rom }) => peculiarityOf(rom, 'place', 0.2));
    const mean = truth.reduce((sum, each) => sum + each, 0) / truth.length;
    // Rounding to sixteenths in the bath and in the cups, 0.026 as a standard uncertainty: three of it.
    for (const { slot, difference } of fact.places)
      expect(Math.abs(difference - (truth[slot - 1]! - mean))).toBeLessThan(0.08);

    const shown = await stillwarm('carrier', 'show', 'A', '--store', store);
    expect(shown.out).toContain('| + checked    |');
    const u = 2 * Math.hypot(0.103, fact.uncertainty);
    expect(u).toBeLessThan(0.45);
    expect(shown.out).toMatch(new RegExp(`U ${u.toFixed(2)}`));
    const list = await stillwarm('probe', 'list', '--certificates', '--store', store);
    expect(list.out).toMatch(
      new RegExp(`^${romIn(1)} ice [+-]0\\.\\d{3} °C u 0\\.103 2026-05-1\\d board [0-9A-F]{8} by Rika$`, 'm'),
    );
    // A board keeps its id from one bench to the next, so that no check is from another board.
    expect(new Set(factsIn(store).flatMap((each) => ('board' in each ? [each.board] : []))).size).toBe(1);
  });

  it('`probe ice` keeps those that pass and refuses those in layers that nobody stirs, with exit 3', async () => {
    const { code, out, err } = await probe('ice', 'ice-unstirred');
    expect(code).toBe(3);
    expect(out).toContain('5 of 10 probes checked');
    expect(err).toMatch(/5 of 10 probes did not pass: A:6: the ice check wanders .* and 2 more; stir, /);
  });

  it('`probe warm` finds each probe that is held, in the order of the slots given', async () => {
    const store = freshStore();
    const places = ['--slot', 'A:1', '--slot', 'A:2', '--slot', 'A:7'];
    const { code, out } = await probe('warm', 'warm-hand', store, ...places);
    expect(code).toBe(0);
    expect(out.match(/it sits in A:\d/g)).toEqual(['it sits in A:1', 'it sits in A:2', 'it sits in A:7']);
    const said = factsIn(store).flatMap((fact) =>
      fact.type === 'probe-assigned' ? [[fact.slot, fact.rom]] : [],
    );
    expect(said).toEqual([
      [1, romIn(1)],
      [2, romIn(2)],
      [7, romIn(3)],
    ]);
  });

  it('`probe warm` assigns nothing when two are warmed at once', async () => {
    const store = freshStore();
    const { code, err } = await probe('warm', 'two-hands', store, '--slot', 'A:1');
    expect(code).toBe(1);
    expect(err).toMatch(
      /Nothing was assigned, no more readings come: two warmed at once, .*one at a time\.\n$/,
    );
    expect(factsIn(store).filter(({ type }) => type === 'probe-assigned')).toEqual([]);
  });

  it('`probe map` refuses a bath that nobody stirs', async () => {
    const { code, out, err } = await probe('map', 'bath-unstirred', freshStore(), '--bath', '5');
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toMatch(/The bath was not at rest: A:\d+ moves against the others by 0\.\d\d °C/);
  });

  it('`probe lag` finds the time constants and advises pre-warming', async () => {
    const store = freshStore();
    const { code, out } = await probe('lag', 'warm-to-cups', store, '--json');
    expect(code).toBe(0);
    const { lags, prewarmMinutes } = JSON.parse(out) as {
      lags: { rom: RomId; tauSeconds: number }[];
      prewarmMinutes: number;
    };
    expect(lags).toHaveLength(10);
    for (const { rom, tauSeconds } of lags)
      expect(Math.abs(tauSeconds / (240 * (1 + peculiarityOf(rom, 'lag', 0.1))) - 1)).toBeLessThan(0.02);
    // By hand: between 216 and 264 s times ln(15 / 0.5) / 60.
    expect(prewarmMinutes).toBeGreaterThan(12.2);
    expect(prewarmMinutes).toBeLessThan(15.1);
    const list = await stillwarm('probe', 'list', '--store', store);
    expect(list.out).toContain(
      `carrier A: ${Math.ceil(prewarmMinutes)} min in warm air before the first cup`,
    );
  });

  it('`probe lag` refuses a step that is too small', async () => {
    const { code, err } = await probe('lag', 'weak-step');
    expect(code).toBe(1);
    expect(err).toMatch(
      /No lag was measured, .*: the step is [23]\.\d °C, at least 5 are needed; start from/,
    );
  });

  it('reads along with a logger that runs, and is refused beside it with a port of its own', async () => {
    const store = freshStore();
    const logger = start('log', '--emulate', 'ice-bath', '--speed', '60', '--store', store);
    try {
      await until('the logger runs', () => isLogged(store), 20);
      const beside = await stillwarm('probe', 'ice', '--emulate', 'ice-bath', '--store', store);
      expect(beside.err).toMatch(/has a logger already \(process \d+\); leave --port and --emulate out/);
      const { code, out } = await stillwarm('probe', 'ice', '--store', store, '--probe', 'A:2');
      expect(code).toBe(0);
      expect(out).toMatch(new RegExp(`^${romIn(2)} ice `));
      expect(out).toContain('1 of 1 probes checked');
    } finally {
      logger.kill('SIGKILL');
    }
  });
});

describe.skipIf(whyNot('socat'))(`commissioning on a serial port ${whyNot('socat') ?? ''}`, () => {
  let cable: ChildProcess;
  const end = (name: string) => join(folder, name);

  it('`probe ice` logs the board itself, follows its probes, and stops when asked to', async () => {
    cable = spawn('socat', [`pty,rawer,link=${end('board')}`, `pty,rawer,link=${end('host')}`], {
      stdio: 'ignore',
    });
    await until('the cable is plugged in', () => existsSync(end('board')) && existsSync(end('host')), 10);
    const store = freshStore();
    const checking = start('probe', 'ice', '--port', `${end('host')}=A`, '--store', store, '--by', 'Rika');
    let err = '';
    checking.stderr!.on('data', (text: Buffer) => {
      err += text.toString();
    });
    await until('the port is open', () => err.includes('is open'), 20);
    const scenario = findScenario('ice-bath')!;
    const board = scenarioBoard(scenario, scenario.carriers[0]!);
    const wire = createWriteStream(end('board'));
    wire.on('error', () => {});
    const begun = performance.now();
    const timer = setInterval(() => {
      for (const { bytes } of board.run(performance.now() - begun)) wire.write(bytes);
    }, 20);
    try {
      await until('the first scan is shown', () => /0:\d\d {2}10 outside/.test(err), 30);
      checking.kill('SIGINT');
      const [code] = (await once(checking, 'close')) as [number];
      expect(code).toBe(1);
      expect(err).toMatch(
        /No probe passed the ice check, it was stopped: .*(no reading yet|it is not in ice water)/,
      );
      expect(factsIn(store).map(({ type }) => type)).toContain('probes-found');
    } finally {
      clearInterval(timer);
      wire.destroy();
      checking.kill('SIGKILL');
      cable.kill();
    }
  });
});
