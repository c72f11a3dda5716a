import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToRead } from '../../src/store/store.js';
import { inFolder } from '../end-to-end/program.js';
import { run } from './run.js';

const MEASURES: readonly (readonly [string, ...string[]])[] = [
  ['ice'],
  ['warm', '--slot', 'A:1'],
  ['map', '--bath', '5'],
  ['lag'],
];

describe.each(MEASURES.map((command) => ({ command })))('probe $command.0', ({ command }) => {
  const probe = (...args: string[]) => run(['probe', ...command, ...args]);

  it('refuses where no logger runs, and leaves nothing behind', () =>
    inFolder(async (folder) => {
      const store = join(folder, 'x.sqlite');
      const { code, err } = await probe('--store', store);
      expect({ code, err }).toEqual({
        code: 1,
        err: `No logger runs on ${store}; start one with log, or name the board's port with --port.\n`,
      });
      expect(existsSync(store)).toBe(false);
    }));

  it('keeps emulated readings out of a store that nobody named, and names the benches there are', () =>
    inFolder(async (folder) => {
      const unnamed = await probe('--emulate', 'ice-bath');
      expect(unnamed).toMatchObject({ code: 2, out: '' });
      expect(unnamed.err).toMatch(/^Name a store of its own with --store: .*real readings\.\n$/);
      const unknown = await probe('--emulate', 'cold-morning', '--store', join(folder, 'x.sqlite'));
      expect(unknown.err).toMatch(/^There is no bench cold-morning to emulate; choose ice-bath, /);
      const both = await probe('--emulate', 'ice-bath', '--port', 'p');
      expect(both.err).toBe('Give either a source, such as --port, or --emulate, not both.\n');
      const missing = await probe('--port', join(folder, 'none'), '--store', join(folder, 'x.sqlite'));
      expect(missing.err).toMatch(/does not exist; plug the board in/);
      expect(existsSync(join(folder, 'x.sqlite'))).toBe(false);
    }));
});

describe('without a terminal', () => {
  it('`probe warm` asks for the slots by option, each once', async () => {
    expect((await run(['probe', 'warm'])).err).toMatch(/^Without a terminal the slots cannot be asked for/);
    const twice = await run(['probe', 'warm', '--slot', 'A:1', '--slot', 'A:1']);
    expect(twice).toMatchObject({ code: 1, err: 'Slot A:1 is given twice; each slot has one probe.\n' });
    expect((await run(['probe', 'warm', '--slot', 'A1'])).err).toMatch(
      /^A1 is not a slot; write CARRIER:SLOT/,
    );
  });

  it('`probe map` asks for the minutes in the bath by option', async () => {
    expect((await run(['probe', 'map'])).err).toMatch(/give the minutes with --bath\.\n$/);
    for (const bath of ['2', 'x', '-3'])
      expect((await run(['probe', 'map', `--bath=${bath}`])).err).toBe(
        `--bath ${bath} is not possible; write a whole number of minutes from 3 on.\n`,
      );
  });
});

describe('play', () => {
  it('refuses a bench, which has no cups', async () => {
    expect(await run(['play', '--scenario', 'ice-bath'])).toMatchObject({
      code: 1,
      err: 'ice-bath is a bench without cups; choose cold-morning, warm-day or practice, or give it to a probe command with --emulate.\n',
    });
  });
});

describe('probe list and carrier show', () => {
  const ROM = '28-13-9B-BB-0B-00-00-1F'; // checks: published clone report, CC BY (reference/sensing.md 1.2)
  const CLONE = '28-AA-3C-61-55-14-01-F0'; // from the same
  const withTwo = (task: (store: string) => Promise<void>) =>
    inFolder(async (folder) => {
      const store = join(folder, 'x.sqlite');
      for (const [slot, rom] of [
        ['A:1', ROM],
        ['A:3', CLONE],
      ] as const)
        expect(
          (
            await run([
              ...['probe', 'assign', slot, rom],
              ...['--at', '2026-05-12T09:00:00Z', '--by', 'Rika', '--store', store],
            ])
          ).code,
        ).toBe(0);
      await task(store);
    });

  it('show slots, words and cautions', () =>
    withTwo(async (store) => {
      const list = await run(['probe', 'list', '--store', store]);
      expect(list.out).toContain(`A:1   ${ROM}  -      o as bought  -       -\n`);
      expect(list.out).toContain(`A:3   ${CLONE}  -      ? clone?     -       -\n`);
      expect(list.out).toContain('! A:3: its ROM id is unlike the maker’s, perhaps a clone');
      const show = await run(['carrier', 'show', 'A', '--store', store]);
      expect(show.out).toMatch(/^Carrier A, no board known: 2 probes, slots 1 to 3\n/);
      expect(show.out).toContain('| 1  -         | 2            | 3  -         |');
      expect(show.out).toContain('| o as bought  | . no probe   | ? clone?     |');
      expect(show.out).toContain('| U 0.858 °C   |              | U unknown    |');
      const certificates = await run(['probe', 'list', '--certificates', '--store', store]);
      expect(certificates.out).toMatch(/^no probe has been checked in ice yet/);
    }));

  it('say the same as JSON', () =>
    withTwo(async (store) => {
      const list = JSON.parse((await run(['probe', 'list', '--json', '--store', store])).out);
      expect(list.probes[0]).toMatchObject({
        rom: ROM,
        slot: 'A:1',
        celsius: null,
        state: 'as bought',
        uncertainty: 0.858,
        ice: null,
        lag: null,
        cautions: [],
      });
      const { carriers } = JSON.parse((await run(['carrier', 'show', '--json', '--store', store])).out);
      expect(carriers[0]).toMatchObject({
        carrier: 'A',
        board: null,
        paired: null,
        placement: null,
        prewarmMinutes: null,
      });
      expect(carriers[0].slots.map(({ probe }: { probe: { rom: string } | null }) => probe?.rom)).toEqual([
        ROM,
        undefined,
        CLONE,
      ]);
    }));

  it('keep who said which probe sits where, outside the chain', () =>
    withTwo(async (path) => {
      const store = openStoreToRead(path);
      try {
        const said = store.facts().flatMap(({ fact }) => (fact.type === 'probe-assigned' ? [fact.who] : []));
        expect(said.map((ref) => store.text(ref!))).toEqual(['Rika', 'Rika']);
      } finally {
        store.close();
      }
    }));

  it('refuse a carrier that nobody knows', () =>
    withTwo(async (store) => {
      expect(await run(['carrier', 'show', 'B', '--store', store])).toMatchObject({
        code: 1,
        err: 'There is no carrier B; carrier show without a name shows all.\n',
      });
    }));
});
