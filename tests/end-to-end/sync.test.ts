import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { whyNot } from '../tools/debianPrograms.js';
import { allInNewFolder } from '../tools/newFolder.js';
import { type BoardOnCable, boardOnCable } from './boardOnCable.js';
import { stillwarm } from './program.js';

const ALONE_MS = 20 * 60_000;
const PRESSED_MS = 10 * 60_000;
const roms = findScenario('warm-day')!.carriers[0]!.slots.map(({ rom }) => rom);

interface Day {
  readonly boots: readonly { readonly began: string; readonly scans: number }[];
  readonly marks: readonly { readonly at: string }[];
}

describe.skipIf(whyNot('socat'))(`sync on a serial port ${whyNot('socat') ?? ''}`, () => {
  let folder: string;
  let board: BoardOnCable;
  /** The same once more, for a check of half a minute at the same time. */
  let other: BoardOnCable;
  const at = (name: string) => join(folder, name);
  allInNewFolder(async (fresh) => {
    folder = fresh;
    board = await boardOnCable({
      folder,
      roms,
      temperature: () => 25,
      aloneMs: ALONE_MS,
      alone: (bench) => {
        bench.run(PRESSED_MS);
        bench.press(true);
        bench.run(PRESSED_MS + 300);
        bench.press(false);
      },
      reset: true,
    });
    other = await boardOnCable({ folder, roms, temperature: () => 25, aloneMs: 60_000, reset: true });
  });
  afterAll(() => {
    board.off();
    other.off();
  });

  it('reads what was logged alone, offers the mark, and brings nothing twice', async () => {
    const args = ['sync', '--store', at('x.sqlite'), '--port', `${board.hostEnd}=A`] as const;
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
    expect(second.out).toMatch(/^board [0-9A-F]{8}: 0 new readings$/m);
  });

  it('`carrier settings` sets a period and reads it back', async () => {
    const { code, out } = await stillwarm('carrier', 'settings', '--port', board.hostEnd, '--alone', '15');
    expect({ code, out }).toEqual({ code: 0, out: 'scans every 10 s with a host, every 15 s alone\n' });
  });

  it('`carrier check` tests what it hears and exits with 3 when a probe is missing', async () => {
    const store = ['--store', at('x.sqlite')] as const;
    await stillwarm('probe', 'assign', 'A:4', roms[3]!, ...store);
    const check = ({ hostEnd }: BoardOnCable, probes: number) =>
      stillwarm('carrier', 'check', '--port', hostEnd, ...store, '--seconds', '30', '--probes', `${probes}`);
    const [good, bad] = await Promise.all([check(board, roms.length), check(other, roms.length + 1)]);
    expect(good.out).toMatch(/^ok +serial memory +works/m);
    expect(good.out).toContain(`A:4 ${roms[3]}`);
    // On a machine as busy as one that runs tests, the board's pace is the host's word against its own.
    const failed = good.out.split('\n').filter((row) => row.startsWith('FAILED') && !row.includes('counter'));
    expect(failed).toEqual([]);
    expect(good.code).toBe(good.out.includes('FAILED') ? 3 : 0);
    expect(bad.code).toBe(3);
    expect(bad.out).toContain(`FAILED  probes`);
  });
});
