import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createReadStream, createWriteStream, existsSync, rmSync, type WriteStream } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { scenarioBoard } from '../../src/carrier/emulated/scenarioBoard.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import type { Store } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { lookInto } from '../store/lookInto.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { start, stillwarm, until } from './program.js';

const scenario = findScenario('warm-day')!;
const carrier = scenario.carriers[0]!;
const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;

let folder: string;
let store: string;
let boardEnd: string;
let hostEnd: string;
let cable: ChildProcess;
const running: ChildProcess[] = [];

/** A null-modem cable between two pseudo-terminals. */
async function plugIn(): Promise<ChildProcess> {
  const socat = spawn('socat', [`pty,rawer,link=${boardEnd}`, `pty,rawer,link=${hostEnd}`], {
    stdio: 'ignore',
  });
  await until('the cable is plugged in', () => existsSync(boardEnd) && existsSync(hostEnd), 10);
  return socat;
}

/** The emulated board at the far end of the cable, in step with the real clock. */
function powerOn(): { off: () => void } {
  const board = scenarioBoard(scenario, carrier);
  const wire: WriteStream = createWriteStream(boardEnd);
  let said = '';
  const input = createReadStream(boardEnd);
  input.on('data', (data) => {
    said += data.toString('latin1');
  });
  wire.on('error', () => {});
  input.on('error', () => {});
  const begun = performance.now();
  const timer = setInterval(() => {
    const heard = said;
    said = '';
    for (const { bytes } of board.run(performance.now() - begun, heard)) wire.write(bytes);
  }, 20);
  return {
    off: () => {
      clearInterval(timer);
      wire.destroy();
      input.destroy();
    },
  };
}

function startLogging(): ChildProcess {
  const logger = start('log', '--store', store, '--port', `${hostEnd}=A`);
  running.push(logger);
  return logger;
}
const listening = (logger: ChildProcess) =>
  new Promise<void>((resolve) => {
    logger.stderr!.on('data', (text: Buffer) => {
      if (text.toString().includes('is open')) resolve();
    });
  });
async function stop(child: ChildProcess): Promise<number | null> {
  child.kill('SIGTERM');
  const [code] = (await once(child, 'close')) as [number | null];
  return code;
}
const inStore = <T>(look: (opened: Store) => T): T => lookInto(store, look);

describe.skipIf(whyNot('socat'))(`log on a serial port ${whyNot('socat') ?? ''}`, () => {
  eachInNewFolder(async (fresh) => {
    folder = fresh;
    store = join(folder, 'season.sqlite');
    boardEnd = join(folder, 'board');
    hostEnd = join(folder, 'host');
    cable = await plugIn();
  });
  afterEach(() => {
    cable.kill();
    for (const child of running.splice(0)) child.kill('SIGKILL');
  });

  it('records what the board says, in time, and stops when asked to', async () => {
    const logger = startLogging();
    await listening(logger);
    const board = powerOn();
    const readings = await until('two scans of ten probes are in the store', () => {
      const seen = inStore((opened) => carrier.slots.map(({ rom }) => opened.readings(rom, ...ALL)));
      return seen.every((each) => each.filter(({ status }) => status === 'ok').length >= 2) && seen;
    });
    expect(await stop(logger)).toBe(0);
    board.off();

    const good = readings.map((each) => each.filter(({ status }) => status === 'ok'));
    const vehicle = scenario.vehicle();
    carrier.slots.forEach(({ rom }, index) => {
      for (const { raw, boardMs } of good[index]!) {
        const felt = vehicle.probe(rom, utcMs(scenario.start + boardMs));
        expect(Math.abs(raw! / 16 - felt)).toBeLessThanOrEqual(0.1);
      }
      const [first, second] = good[index]!;
      // The scan period of the firmware, by the board's clock and by UTC.
      expect(second!.boardMs - first!.boardMs).toBe(10_000);
      // The label may be late by as much as this busy machine was at the board's first lines.
      expect(Math.abs(second!.utc - first!.utc - 10_000)).toBeLessThan(5_000);
      expect(Math.abs(second!.utc - Date.now())).toBeLessThan(15_000);
    });
    inStore((opened) => {
      expect(opened.brokenAt()).toBeNull();
      expect(opened.discards()).toEqual([]);
      const facts = opened.facts().map(({ fact }) => fact);
      const types = facts.map(({ type }) => type).filter((type) => type !== 'clock-compared');
      expect(types).toEqual(['store-created', 'board-bound', 'board-booted', 'probes-found']);
      // The board's clock lives in the scenario until this host sets it.
      const off = facts.flatMap((fact) => (fact.type === 'clock-compared' ? [fact.differenceMs!] : []));
      // Once before it is set and once after; once more before when a busy machine was late at the board's first lines,
      // and its next ones move the difference by more than the news takes.
      expect([2, 3]).toContain(off.length);
      for (const before of off.slice(0, -1)) expect(Math.abs(before)).toBeGreaterThan(60_000);
      expect(Math.abs(off.at(-1)!)).toBeLessThan(2000);
      expect(opened.logger()).toBeNull();
    });
  });

  it('refuses a store that has a logger, and leaves that one alone', async () => {
    const first = startLogging();
    await listening(first);
    const second = await stillwarm('log', '--store', store, '--port', hostEnd);
    expect(second.code).toBe(1);
    expect(second.err).toMatch(/already has a logger \(process \d+\); one logger a store/);
    expect(first.exitCode).toBeNull();
    expect(await stop(first)).toBe(0);
  });

  it('opens the port again after it was unplugged, as a new epoch', async () => {
    const logger = startLogging();
    await listening(logger);
    const first = powerOn();
    await until('the board is known', () =>
      inStore((opened) => opened.facts().some(({ fact }) => fact.type === 'board-booted')),
    );
    first.off();
    cable.kill('SIGKILL');
    await once(cable, 'close');
    rmSync(boardEnd, { force: true });
    rmSync(hostEnd, { force: true });
    cable = await plugIn();
    await listening(logger);
    const second = powerOn();
    await until('readings come in again', () =>
      inStore((opened) => opened.readings(carrier.slots[0]!.rom, ...ALL).length > 0),
    );
    second.off();
    expect(await stop(logger)).toBe(0);
  });

  it('says in one sentence that a port is missing', async () => {
    const { code, err, out } = await stillwarm('log', '--store', store, '--port', join(folder, 'none'));
    expect(code).toBe(1);
    expect(out).toBe('');
    expect(existsSync(store)).toBe(false);
    expect(err).toBe(
      `Port ${join(folder, 'none')} does not exist; plug the board in and name its port with --port.\n`,
    );
  });

  it('says in one sentence that a port is in use', async () => {
    const first = startLogging();
    await listening(first);
    const second = await stillwarm('log', '--store', join(folder, 'other.sqlite'), '--port', hostEnd);
    expect(second.code).toBe(1);
    expect(second.err).toContain(`Port ${hostEnd} is in use by another program; close that program`);
    await stop(first);
  });
});
