import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import { openStoreToRead } from '../../src/store/store.js';
import { whyNot } from '../tools/debianPrograms.js';
import { onTerminal } from './onTerminal.js';
import { inFolder, until } from './program.js';

const { slots } = findScenario('warm-hand')!.carriers[0]!;
const read = <T>(path: string, look: (store: ReturnType<typeof openStoreToRead>) => T): T => {
  const store = openStoreToRead(path);
  try {
    return look(store);
  } finally {
    store.close();
  }
};
const ofType = (path: string, type: string) =>
  read(path, (store) => store.facts().flatMap(({ fact }) => (fact.type === type ? [fact] : [])));

/** `probe map` as far as it goes before the lid is shut. */
async function mapping(folder: string) {
  const store = join(folder, 'x.sqlite');
  const bench = ['--emulate', 'bath-then-cups', '--speed', '100', '--by', 'Rika', '--store', store];
  const terminal = onTerminal(folder, 'probe', 'map', ...bench);
  await terminal.sees(/Press Enter when the lid is shut: /);
  return { terminal, store };
}

describe.skipIf(whyNot('socat')).concurrent(`probe commands on a terminal ${whyNot('socat') ?? ''}`, () => {
  it('`probe warm` asks for the slot again until it is one that is free, skips, and ends when told', () =>
    inFolder(async (folder) => {
      const store = join(folder, 'x.sqlite');
      const bench = ['--emulate', 'warm-hand', '--speed', 'max', '--by', 'Rika', '--store', store];
      const terminal = onTerminal(folder, 'probe', 'warm', ...bench);
      const question = /warmed by \d\.\d °C[\s\S]*Its slot \(as A:4; Enter skips it, q ends\): /;
      await terminal.sees(question);
      terminal.type('nowhere\r');
      await terminal.sees(/nowhere is not a slot; write CARRIER:SLOT[\s\S]*q ends\): /);
      terminal.type('A:7\r');
      await terminal.sees(/it sits in A:7/);
      await terminal.sees(question);
      terminal.type('A:7\r');
      await terminal.sees(/Slot A:7 was given to another probe just now[\s\S]*q ends\): /);
      terminal.type('A:2\r');
      await terminal.sees(/it sits in A:2/);
      await terminal.sees(question);
      terminal.type('\r');
      await terminal.sees(question);
      terminal.type('q\r');
      expect(await terminal.ended()).toBe(0);
      expect(ofType(store, 'probe-assigned')).toMatchObject([
        { slot: 7, rom: slots[0]!.rom },
        { slot: 2, rom: slots[1]!.rom },
      ]);
    }));

  it('`probe map` waits for Enter when the lid is shut, and keeps nothing when stopped there', () =>
    inFolder(async (folder) => {
      const { terminal, store } = await mapping(folder);
      terminal.type('\u0003');
      expect(await terminal.ended()).toBe(1);
      expect(terminal.shown()).toContain(
        'The map was stopped before the empty cups; nothing was kept of it.',
      );
      expect(ofType(store, 'placement-mapped')).toEqual([]);
    }));

  it('`probe map` goes on at Enter to its result', () =>
    inFolder(async (folder) => {
      const { terminal, store } = await mapping(folder);
      // On this bench the probes leave the bath after five minutes.
      const inCups = findScenario('bath-then-cups')!.start + 6 * 60_000;
      await until('the probes are in their cups', () =>
        read(store, (opened) => (opened.newestReading()?.utc ?? 0) > inCups),
      );
      terminal.type('\r');
      expect(await terminal.ended()).toBe(0);
      expect(terminal.shown()).toMatch(/u_placement of carrier A: 0\.\d{3} °C/);
      expect(ofType(store, 'placement-mapped')).toHaveLength(1);
    }));
});
