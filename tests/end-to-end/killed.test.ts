import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Store } from '../../src/store/store.js';
import { seededChance } from '../../src/units/clock.js';
import { lookInto } from '../store/lookInto.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { type BoardOnCable, boardOnCable } from './boardOnCable.js';
import { changedProgram } from './changedProgram.js';
import { acknowledged, faults, felt, gaps, roms } from './nothingLost.js';
import { PROGRAM, stillwarm, until } from './program.js';

/** The logger and the screen, as they are run, ended with SIGKILL again and again: half of the kills are each one's. */
const KILLS = Math.ceil(Number(process.env['STILLWARM_KILLS'] ?? 20) / 2);
/** So many on one store and one board. */
const KILLS_A_ROUND = 20;
const ALONE_MS = 150 * 60_000;
/** From the first sign of a logger or a screen to its end: while it reads the log, and beyond. */
const LIVES_AT_MOST_MS = 700;
/** Makes a logger write a second after it has heard, in the program as it is loaded. */
const HASTY = changedProgram(
  '/logger/attend.js',
  'writer.record(events, clock.utc());',
  'setTimeout(() => writer.record(events, clock.utc()), 1000);',
);

let folder: string;
let store: string;
let board: BoardOnCable | undefined;
const running = new Set<ChildProcess>();
eachInNewFolder((fresh) => {
  folder = fresh;
  store = join(folder, 'season.sqlite');
});
afterEach(() => {
  for (const child of running) child.kill('SIGKILL');
  running.clear();
  board?.off();
  board = undefined;
});

const plugIn = async (aloneMs: number) => {
  board = await boardOnCable({ folder, roms, temperature: felt, aloneMs, reset: false });
  return board;
};
const inStore = <T>(look: (opened: Store) => T): T => lookInto(store, look);
const later = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** Starts a logger on the board's port; resolves when the port is open. */
async function logging(program: readonly string[] = [PROGRAM]): Promise<ChildProcess> {
  const args = ['log', '--store', store, '--port', `${board!.hostEnd}=A`];
  const logger = spawn(process.execPath, [...program, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
  running.add(logger);
  let words = '';
  let isOpen = false;
  logger.stderr!.on('data', (text: Buffer) => {
    words += text.toString();
    isOpen ||= words.includes('is open');
  });
  await until('the port is open', () => {
    if (logger.exitCode !== null) throw new Error(`the logger ended: ${words}`);
    return isOpen;
  });
  return logger;
}
async function kill(child: ChildProcess): Promise<void> {
  child.kill('SIGKILL');
  if (child.exitCode === null && child.signalCode === null) await once(child, 'close');
  expect(child.signalCode).toBe('SIGKILL');
  running.delete(child);
}

/** Opens a screen on a terminal of its own, with a logger behind it; resolves when something is drawn. */
async function watching(): Promise<{ terminal: ChildProcess; pid: number }> {
  const pidFile = join(folder, 'screen.pid');
  rmSync(pidFile, { force: true });
  const line = 'echo $$ >"$PID_FILE"; exec "$NODE" "$PROGRAM" watch --store "$STORE" --port "$PORT=A"';
  const terminal = spawn('script', ['-qefc', line, '/dev/null'], {
    env: {
      ...process.env,
      SHELL: '/bin/sh',
      TERM: 'xterm',
      PID_FILE: pidFile,
      NODE: process.execPath,
      PROGRAM,
      STORE: store,
      PORT: board!.hostEnd,
    },
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  running.add(terminal);
  let shown = '';
  terminal.stdout!.on('data', (data: Buffer) => {
    shown += data.toString();
  });
  await until('the screen is drawn', () => {
    if (terminal.exitCode !== null) throw new Error(`the screen ended: ${shown}`);
    return shown.includes('stillwarm');
  });
  return { terminal, pid: Number(readFileSync(pidFile, 'utf8')) };
}

describe.skipIf(whyNot('socat'))(`a logger that is killed ${whyNot('socat') ?? ''}`, () => {
  it(`loses nothing and goes on without a gap, ${KILLS} times over`, async () => {
    const chance = seededChance(6);
    const tally = { kills: 0, acknowledgedPages: 0, readings: 0 };
    for (let round = 0; tally.kills < KILLS; round += 1) {
      store = join(folder, `${round}.sqlite`);
      await plugIn(ALONE_MS);
      for (let kills = 0; kills < KILLS_A_ROUND && tally.kills < KILLS; kills += 1) {
        const logger = await logging();
        await later(chance.uniform() * LIVES_AT_MOST_MS);
        await kill(logger);
        tally.kills += 1;
        inStore((opened) => expect(faults(opened, acknowledged(board!))).toEqual([]));
      }
      // Also the page of the log that still grows.
      const last = await stillwarm('sync', '--store', store, '--port', board!.hostEnd);
      expect(last).toMatchObject({ code: 0, err: expect.not.stringContaining('cannot') });
      inStore((opened) => {
        expect(gaps(opened)).toEqual([]);
        expect(faults(opened, acknowledged(board!))).toEqual([]);
        tally.readings += opened.readingCount();
      });
      tally.acknowledgedPages += acknowledged(board!);
      board!.off();
    }
    if (process.env['STILLWARM_KILLS']) process.stderr.write(`logger: ${JSON.stringify(tally)}\n`);
    expect(tally.acknowledgedPages).toBeGreaterThan(0);
  }, 3_600_000);

  // Negative control: a logger that tells the board that pages are durable before they are.
  it('is found out when it acknowledges what it has not written yet', async () => {
    await plugIn(ALONE_MS / 5);
    const found: string[] = [];
    for (let kills = 0; kills < KILLS_A_ROUND && found.length === 0; kills += 1) {
      const before = acknowledged(board!);
      const logger = await logging(HASTY);
      await until('pages are acknowledged', () => acknowledged(board!) > before, 30);
      await kill(logger);
      found.push(...inStore((opened) => faults(opened, acknowledged(board!))));
    }
    expect(found.join('\n')).toMatch(/page \d+ was acknowledged and is lost/);
  });
});

describe.skipIf(whyNot('socat'))(`a screen that is killed ${whyNot('socat') ?? ''}`, () => {
  it(`never stops the logger that it started, ${KILLS} times over`, async () => {
    const chance = seededChance(7);
    await plugIn(1000);
    const loggers = new Set<number>();
    let beats = 0;
    try {
      for (let kills = 0; kills < KILLS; kills += 1) {
        const screen = await watching();
        await later(chance.uniform() * LIVES_AT_MOST_MS);
        // At times the terminal goes with it.
        if (chance.uniform() < 0.5) screen.terminal.kill('SIGKILL');
        process.kill(screen.pid, 'SIGKILL');
        await until('the screen is gone', () => !existsSync(`/proc/${screen.pid}`), 10);
        const row = inStore((opened) => opened.logger());
        expect(row?.state).toBe('logging');
        loggers.add(row!.pid);
        beats = Math.max(beats, row!.beat);
      }
      const [logger] = loggers;
      expect(loggers.size).toBe(1);
      process.kill(logger!, 0);
      await until('the logger beats on', () => inStore((opened) => opened.logger()!.beat) > beats, 10);
      await until('a scan is there', () => inStore((opened) => opened.readingCount()) > 0, 30);
      inStore((opened) => {
        expect(faults(opened, 0)).toEqual([]);
        expect(gaps(opened)).toEqual([]);
      });
    } finally {
      for (const logger of loggers) process.kill(logger, 'SIGTERM');
      for (const logger of loggers) await until('the logger ends', () => !existsSync(`/proc/${logger}`), 10);
    }
  }, 3_600_000);
});
