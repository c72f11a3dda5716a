import { type ChildProcess, spawn } from 'node:child_process';
import { createReadStream, createWriteStream, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { firmwareImage } from '../../src/carrier/emulated/firmwareImage.js';
import { EmulatedBoard } from '../../src/emulator/board.js';
import { ClockChip } from '../../src/emulator/clockChip.js';
import { I2cBus } from '../../src/emulator/i2cBus.js';
import { loadImage } from '../../src/emulator/image.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { SerialMemory } from '../../src/emulator/serialMemory.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import { whyNot } from '../tools/debianPrograms.js';
import { stillwarm, until } from './program.js';

const ALONE_MS = 20 * 60_000;
const PRESSED_MS = 10 * 60_000;
const roms = findScenario('warm-day')!.carriers[0]!.slots.map(({ rom }) => rom);

interface Day {
  readonly boots: readonly { readonly began: string; readonly scans: number }[];
  readonly marks: readonly { readonly at: string }[];
}

/** A board that was alone until now, at the far end of a cable, then in step with the real clock. */
function aloneUntilNow(end: string): { off: () => void } {
  const start = Math.floor(Date.now() / 1000) * 1000 - ALONE_MS;
  let sent: number[] = [];
  const board = new EmulatedBoard({
    image: loadImage(firmwareImage()),
    bus: new OneWireBus({
      thermometers: roms.map((rom) => new Thermometer({ rom, temperatureAt: () => 25 as never })),
      faults: [],
    }),
    i2c: new I2cBus({
      chips: [new SerialMemory({}), new ClockChip({ utcSeconds: start / 1000 })],
      faults: [],
    }),
    onByte: (byte) => sent.push(byte),
  });
  board.run(PRESSED_MS);
  board.press(true);
  board.run(PRESSED_MS + 300);
  board.press(false);
  // Emulating the time alone took time as well.
  for (let late = 10; late > 0; late -= 1) board.run(Date.now() - start);
  board.reset('external');
  sent = [];
  const out = createWriteStream(end);
  const received: number[] = [];
  const input = createReadStream(end).on('data', (data) => received.push(...(data as Buffer)));
  out.on('error', () => {});
  input.on('error', () => {});
  const timer = setInterval(() => {
    const now = Date.now() - start;
    for (; received.length > 0 && board.ms + 0.27 < now; board.receive(received.shift()!))
      board.run(board.ms + 0.27);
    board.run(now);
    if (sent.length > 0) out.write(Uint8Array.from(sent));
    sent = [];
  }, 10);
  return {
    off: () => {
      clearInterval(timer);
      out.destroy();
      input.destroy();
    },
  };
}

describe.skipIf(whyNot('socat'))(`sync on a serial port ${whyNot('socat') ?? ''}`, () => {
  let folder: string;
  let cable: ChildProcess;
  let board: { off: () => void };
  const at = (name: string) => join(folder, name);
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'stillwarm-sync-'));
    cable = spawn('socat', [`pty,rawer,link=${at('board')}`, `pty,rawer,link=${at('host')}`], {
      stdio: 'ignore',
    });
    await until('the cable is plugged in', () => existsSync(at('board')) && existsSync(at('host')), 10);
    board = aloneUntilNow(at('board'));
  });
  afterAll(() => {
    board.off();
    cable.kill();
    rmSync(folder, { recursive: true, force: true });
  });

  it('reads what was logged alone, offers the mark, and brings nothing twice', async () => {
    const args = ['sync', '--store', at('x.sqlite'), '--port', `${at('host')}=A`] as const;
    const first = await stillwarm(...args, '--json');
    expect(first.code).toBe(0);
    const [day] = (JSON.parse(first.out) as { boards: Day[] }).boards;
    expect(day).toMatchObject({
      boots: [{ boot: 1, provenBy: 'clock', resetCause: 'power-on', clock: 'running' }],
      gaps: [],
      marks: [{ isProven: true, steps: [], known: [] }],
      lostPages: [],
    });
    const { began, scans } = day!.boots[0]!;
    expect(scans).toBeGreaterThanOrEqual(ALONE_MS / 20_000 - 2);
    const pressed = day!.marks[0]!.at;
    expect(Math.abs(Date.parse(pressed) - Date.parse(began) - PRESSED_MS)).toBeLessThan(2000);

    const second = await stillwarm(...args);
    expect(second).toMatchObject({ code: 0 });
    expect(second.out).toContain(': 0 new readings; all of it is in');
  });

  it('`carrier settings` sets a period and reads it back', async () => {
    const { code, out } = await stillwarm('carrier', 'settings', '--port', at('host'), '--alone', '15');
    expect({ code, out }).toEqual({ code: 0, out: 'scans every 10 s with a host, every 15 s alone\n' });
  });

  it('`carrier check` tests what it hears and exits with 3 when a probe is missing', async () => {
    const args = ['carrier', 'check', '--port', at('host'), '--seconds', '30', '--probes'] as const;
    const good = await stillwarm(...args, `${roms.length}`);
    expect(good.out).toMatch(/^ok +serial memory +works/m);
    // On a machine as busy as one that runs tests, the board's pace is the host's word against its own.
    const failed = good.out.split('\n').filter((row) => row.startsWith('FAILED') && !row.includes('counter'));
    expect(failed).toEqual([]);
    expect(good.code).toBe(good.out.includes('FAILED') ? 3 : 0);
    const bad = await stillwarm(...args, `${roms.length + 1}`);
    expect(bad.code).toBe(3);
    expect(bad.out).toContain(`FAILED  probes`);
  }, 120_000);
});
