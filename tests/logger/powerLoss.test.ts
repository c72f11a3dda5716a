import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { openStoreToWrite } from '../../src/store/store.js';
import { seededChance } from '../../src/units/clock.js';
import { utcMs } from '../../src/units/time.js';
import { faults } from '../end-to-end/nothingLost.js';
import { anywhere, cutPower, soonAfterWords } from '../store/powerLoss/cutPower.js';
import { type Change, type Operation, opened, recordProgram } from '../store/powerLoss/recording.js';
import { whyNot } from '../tools/debianPrograms.js';

const LOGGER = fileURLToPath(new URL('syncs/withLog.mjs', import.meta.url));
/** So long alone is two runs of pages, then there is a page about every minute. */
const [MINUTES_ALONE, MINUTES_HEARD] = [170, 12];
const NOW = utcMs(1_800_000_000_000);
const recorded = (alone: number, ...changes: readonly Change[]) =>
  recordProgram(LOGGER, [String(alone), String(MINUTES_HEARD)], [...opened('FULL'), ...changes]);

/** What is wrong with the logger's store after the power had gone, given which pages the board was told are durable. */
function lossIn(path: string, said: readonly string[]): string | null {
  const store = openStoreToWrite(path, NOW);
  try {
    const highest = Math.max(0, ...said.map((words) => Number(words.split(' ')[1])));
    const [first] = faults(store, highest);
    return first === undefined ? null : first.replace(/\d+/, 'N');
  } finally {
    store.close();
  }
}
/** Anywhere, and soon after each acknowledgement. */
function cut(operations: readonly Operation[], seed: number): [string, number][] {
  const chance = seededChance(seed);
  const moments = [...anywhere(operations, 150, chance), ...soonAfterWords(operations, 8)];
  return [...cutPower(operations, moments, chance, lossIn)];
}

describe.skipIf(whyNot('strace'))(`a board's log after the power was lost ${whyNot('strace') ?? ''}`, () => {
  let operations: Operation[];
  beforeAll(() => {
    operations = recorded(MINUTES_ALONE);
  });

  it('is acknowledged in runs first, and then page by page, most of them without a sync of their own', () => {
    const said = operations.flatMap((each) => (each.does === 'say' ? [Number(each.text.split(' ')[1])] : []));
    const steps = said.map((page, index) => page - (said[index - 1] ?? 0));
    expect(steps.filter((step) => step > 1).length).toBeGreaterThanOrEqual(2);
    expect(steps.filter((step) => step === 1).length).toBeGreaterThanOrEqual(8);
    const syncs = operations.filter((each) => each.does === 'sync' && each.file === 'store-wal').length;
    expect(syncs).toBeGreaterThan(MINUTES_HEARD * 6);
  });

  it('is here as far as the board was told, at every moment', () => {
    const found = cut(operations, 21);
    expect(found).toHaveLength(1);
    expect(found[0]![0]).toBe('nothing');
    expect(found[0]![1]).toBeGreaterThan(200);
  });

  it('would not be if a page were acknowledged as soon as it is written (negative control)', () => {
    const hasty = { file: 'src/logger/conversation.js', from: 'if (commit <= durable)', to: '' };
    const found = new Map(cut(recorded(0, hasty), 22));
    expect(found.get('page N was acknowledged and is lost')).toBeGreaterThan(10);
    expect([...found.keys()].sort()).toEqual(['nothing', 'page N was acknowledged and is lost']);
  });
});
