import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findScenario } from '../../../src/emulator/scenarios/index.js';
import { inFolder } from '../../end-to-end/program.js';
import { run } from '../run.js';

const check = (...options: string[]) =>
  run(['carrier', 'check', '--probes', '10', '--seconds', '60', ...options]);
const failedIn = (out: string): string[] =>
  (JSON.parse(out) as { rows: { what: string; passed: boolean | null }[] }).rows.flatMap(
    ({ what, passed }) => (passed === false ? [what] : []),
  );

describe('carrier check --emulate', () => {
  it('passes a sound carrier', async () => {
    const { code, out } = await check('--emulate', '--json');
    expect({ code, failed: failedIn(out) }).toEqual({ code: 0, failed: [] });
  });

  it('names what is wrong with one that has two faults, the damaged probe by its ROM id', async () => {
    const { code, out, err } = await check(
      '--emulate',
      '--fault',
      'damaged:4',
      '--fault',
      'no-memory',
      '--json',
    );
    expect(code).toBe(3);
    const { rom } = findScenario('cold-morning')!.carriers[0]!.slots[3]!;
    expect(failedIn(out)).toEqual(['serial memory', rom]);
    expect(err).toContain('The carrier failed 2 of');
  });

  it.each<[string[], string[]]>([
    [['loose-lead:4'], ['probes', 'A:4']],
    [
      ['clone:2', 'stopped-clock'],
      ['clock', 'A:2'],
    ],
    [
      ['zeros:10', 'no-clock'],
      ['clock', 'A:10'],
    ],
    [['short'], ['probes', ...Array.from({ length: 10 }, (_, slot) => `A:${slot + 1}`)]],
  ])(
    'finds %j',
    async (faults, failed) => {
      const { code, out, err } = await check('--emulate', ...faults.flatMap((fault) => ['--fault', fault]));
      expect(code).toBe(3);
      expect(err).toContain(`checks: ${failed.join(', ')}.`);
      for (const line of out.split('\n')) expect(line.length).toBeLessThan(80);
    },
    30_000,
  );

  it.each([
    [['--fault', 'damaged:11', '--emulate'], 'names no slot of the carrier; it has 1 to 10', 1],
    [['--fault', 'rust', '--emulate'], '--fault rust is no fault; choose loose-lead:SLOT', 1],
    [['--fault', 'short'], 'Give either --port, or --emulate', 2],
    [['--fault', 'short', '--port', '/dev/x'], '--fault is for --emulate', 2],
    [['--emulate', '--port', '/dev/x'], 'Give either --port, or --emulate', 2],
  ])('refuses %j', async (options, sentence, expected) => {
    const { code, err } = await check(...options);
    expect(code).toBe(expected);
    expect(err).toContain(sentence);
  });
});

describe('carrier settings and carrier pair, with --emulate', () => {
  it('set a period and read it back', async () => {
    const { code, out } = await run(['carrier', 'settings', '--emulate', '--alone', '15']);
    expect({ code, out }).toEqual({ code: 0, out: 'scans every 10 s with a host, every 15 s alone\n' });
  });

  it('put an emulated board on record in a store of its own only', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'x.sqlite');
      expect((await run(['carrier', 'pair', 'A', '--emulate'])).err).toContain('Name a store of its own');
      const { code, out } = await run(['carrier', 'pair', 'A', '--emulate', '--store', store]);
      expect(code).toBe(0);
      expect(out).toMatch(/^board [0-9A-F]{8} is built into carrier A$/m);
      const both = ['carrier', 'pair', 'A', '0A1B2C3D', '--store', store];
      expect((await run([...both, '--emulate'])).err).toContain('Give the id of a board');
      expect((await run([...both, '--fault', 'short'])).err).toContain('--fault is for --emulate');
    });
  });
});

describe('sync --emulate', () => {
  it('reads a morning alone with its marks into a store of its own, and mixes it with no other', async () => {
    await inFolder(async (folder) => {
      const store = join(folder, 'x.sqlite');
      const { code, out, err } = await run([
        'sync',
        '--emulate',
        '--fault',
        'loose-lead:4',
        '--json',
        '--store',
        store,
      ]);
      expect(code).toBe(0);
      expect(err).toContain('alone for 4 h');
      expect(err).toMatch(/the emulated carrier A: \d+ more pages of its log, \d+ in all/);
      const [board] = JSON.parse(out).boards;
      expect(board.boots).toMatchObject([{ boot: 1, provenBy: 'clock' }]);
      // The slot without a probe, the one whose lead is loose for eight minutes of that morning, and no other.
      expect(board.lacking).toMatchObject([
        { carrier: 'A', slot: 4, usable: null },
        { carrier: 'A', slot: 6 },
      ]);
      // One press for each cup. Slot 4 has no probe; slots 5 and 6 got theirs 20 s apart, and 6 hides 5.
      const { crew } = findScenario('cold-morning')!;
      const seated = crew.flatMap((action) =>
        action.does === 'seat' && action.carrier === 'A' ? [action.slot] : [],
      );
      const offered = (board.marks as { steps: { slot: number; moreAt: number | null }[] }[]).map(
        ({ steps }) => steps.find(({ moreAt }) => moreAt === null)?.slot,
      );
      expect(seated).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
      expect(offered).toHaveLength(seated.length);
      const right = (slots: readonly number[]) =>
        offered.filter((slot, index) => slot === slots[index]).length;
      // By the scenario: all but slots 4 and 5, at whose presses none is offered.
      expect(right(seated)).toBe(8);
      expect([offered[3], offered[4]]).toEqual([undefined, undefined]);
      // Negative control: what is offered is not right for the mark before.
      expect(right([...seated.slice(1), 1])).toBeLessThanOrEqual(1);
      const listed = await run(['cup', 'list', '--json', '--store', store]);
      expect(JSON.parse(listed.out)).toEqual({ cups: [] });
      const again = await run(['sync', '--emulate', '--store', store]);
      expect(again).toMatchObject({ code: 1 });
      expect(again.err).toContain('exists already');
    });
  });

  it('refuses a port beside it, and faults without it', async () => {
    expect((await run(['sync', '--emulate', '--port', '/dev/x'])).err).toContain('not both');
    expect((await run(['sync', '--fault', 'short'])).err).toContain('--fault is for --emulate');
  });

  it('says that a carrier without memory could not keep its morning, in lines that fit', async () => {
    const { code, out, err } = await run(['sync', '--emulate', '--fault', 'no-memory']);
    expect(code).toBe(0);
    expect(out).toContain('its memory does not answer: only what its RAM holds could be read');
    expect(out).toContain('no readings around it to look for a change in');
    expect(out).not.toContain("no slot's temperature changed course");
    for (const line of out.split('\n')) expect(line.length).toBeLessThan(80);
    expect(err).toContain('what was read is forgotten now');
  });
});
