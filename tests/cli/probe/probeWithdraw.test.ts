import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../../src/store/store.js';
import { later, minutes } from '../../../src/units/time.js';
import { inFolder } from '../../end-to-end/program.js';
import { assigns, iceChecks, mapsPlaces, measuresLag, minute, OPENED, rom } from '../../visit/situation.js';
import { run } from '../run.js';

/** A store in which a probe was assigned, checked twice, mapped and its lag measured, by a name of their making. */
const withStore = (
  task: (withdraw: (...args: string[]) => ReturnType<typeof run>, path: string) => unknown,
) =>
  inFolder(async (folder) => {
    const path = join(folder, 'x.sqlite');
    const store = openStoreToWrite(path, OPENED);
    const who = store.keepText('Rika');
    const facts = [iceChecks(0.1, 1), iceChecks(0.3, 2), mapsPlaces(0.15, 3), measuresLag(240, 4)];
    store.transaction(() =>
      store.append(later(minute(5), minutes(0)), assigns(1), ...facts.map((fact) => ({ ...fact, who }))),
    );
    store.close();
    await task((...args) => run(['probe', 'withdraw', ...args, '--store', path]), path);
  });
const SAYING = ['--why', 'the ice had melted', '--by', 'Oona'] as const;

describe('probe withdraw', () => {
  it('takes back the latest ice check of a probe, then the one before, and says what counts', () =>
    withStore(async (withdraw) => {
      const first = await withdraw('ice', 'A:1', ...SAYING);
      expect(first.code).toBe(0);
      const said = first.out.replace(/\s+/g, ' ');
      expect(said).toMatch(
        new RegExp(
          `^withdrawn: the ice check of probe ${rom} of 2026-05-12T.* by Rika, offset \\+0\\.300 °C; it stays`,
        ),
      );
      // By hand: 2 sqrt(0.103^2 + 0.15^2) = 0.36392; 2 sqrt(0.317^2 + 0.15^2) = 0.70140; each rounded up.
      expect(said).toContain('check before it counts again: offset +0.100 °C. U in A:1 is now 0.364 °C.');
      const second = await withdraw('ice', rom, ...SAYING);
      expect(second.out.replace(/\s+/g, ' ')).toContain(
        'never checked in ice now. U in A:1 is now 0.702 °C.',
      );
      const third = await withdraw('ice', rom, ...SAYING);
      expect(third).toMatchObject({ code: 1, out: '' });
      expect(third.err).toContain(`Probe ${rom} has no ice check, so none can be withdrawn`);
    }));

  it('takes back a map, a lag and a slot, and a store of its own shows it', () =>
    withStore(async (withdraw, path) => {
      expect((await withdraw('map', 'A', ...SAYING)).out).toContain('not mapped now: u_placement 0.289 °C.');
      expect((await withdraw('lag', 'A:1', ...SAYING)).out).toContain('No lag is known of it now.');
      expect((await withdraw('slot', 'A:1', ...SAYING)).out).toContain('The probe has no slot now.');
      const { probes } = JSON.parse((await run(['probe', 'list', '--json', '--store', path])).out);
      expect(probes).toHaveLength(1);
      expect(probes[0]).toMatchObject({ rom, slot: null, lag: null, ice: { offset: 0.3 } });
      const json = await withdraw('ice', rom, ...SAYING, '--json');
      expect(JSON.parse(json.out)[0]).toMatchObject({ type: 'measurement-withdrawn', of: 'ice-checked' });
    }));

  it('refuses what is none, what was never measured, and a withdrawal without words', () =>
    withStore(async (withdraw) => {
      expect((await withdraw('cup', 'A:1', ...SAYING)).err).toBe(
        'cup cannot be withdrawn; write one of ice, map, lag, slot.\n',
      );
      expect((await withdraw('map', 'B', ...SAYING)).err).toMatch(/^Carrier B has no map, /);
      expect((await withdraw('ice', 'A:2', ...SAYING)).err).toMatch(/^Slot A:2 has no probe yet; /);
      expect((await withdraw('ice', 'A:1', '--why', ' ')).err).toMatch(/^--why needs words; /);
      expect((await withdraw('ice', 'A:1')).code).toBe(2);
    }));
});
