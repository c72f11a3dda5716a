import {
  appendFileSync,
  existsSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { recordTo } from '../../src/logger/recordTo.js';
import { checkRecording, replay } from '../../src/logger/replay.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId, parseCarrierId, parseRomId, type RomId } from '../../src/units/ids.js';
import { minutes, utcMs } from '../../src/units/time.js';
import { Lockstep } from './lockstep.js';

const START = utcMs(Date.UTC(2026, 4, 12, 12));
const carrier = parseCarrierId('A')!;
// ROM ids that check: published clone report, CC BY
const roms = ['28-13-9B-BB-0B-00-00-1F', '28-CA-D6-10-10-00-00-FE'].map((text) => parseRomId(text) as RomId);

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-replay-'));
const NO_STORE = join(folder, 'no.sqlite');
afterAll(() => rmSync(folder, { recursive: true }));
let stores = 0;
function newStore(): Store {
  stores += 1;
  return openStoreToWrite(join(folder, `${stores}.sqlite`), START);
}
/** All that a store holds of boards. Its own id is drawn by lot. */
const held = (store: Store) => {
  const boards = [...new Set(store.readingsAfter(0, 100_000).map(({ board }) => board))];
  return {
    readings: store.readingsAfter(0, 100_000),
    facts: store.facts().filter(({ fact }) => fact.type !== 'store-created'),
    discards: store.discards(),
    pages: boards.map((board) => [board, store.pageNumbers(board)]),
    heard: boards.map((board) => store.bootsOf(board).map((boot) => store.heardEnds(board, boot))),
  };
};
const replayed = async (path: string, store = newStore()) => {
  const said: string[] = [];
  const come = await replay(await checkRecording(path), store, (sentence) => said.push(sentence));
  return { store, come, said };
};

const recorded = join(folder, 'day.jsonl');
let original: Store;
let lines: string[];

/** The real image: logs alone for a while, then a host comes, reads its log, hears a mark and two boots. */
beforeAll(async () => {
  original = newStore();
  const bench = new Lockstep({
    start: START,
    roms,
    temperature: (rom, ms) => (rom === roms[0] ? 25 : 20 - ms / 100_000),
  });
  await bench.run(minutes(8));
  bench.board.reset('power-on');
  const recording = recordTo(recorded, NO_STORE, () => {});
  bench.plugIn(original, carrier, { reset: true, withOpenPage: true, recording });
  await bench.run(minutes(11));
  recording.close();
  lines = readFileSync(recorded, 'utf8').trimEnd().split('\n');
});
const variant = (name: string, text: string): string => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};

describe('replay()', () => {
  it('gives the same readings and the same facts about boards, to the byte', async () => {
    const { store, come } = await replayed(recorded);
    expect(held(store)).toEqual(held(original));
    expect(come.torn).toEqual([]);
    // It is no comparison of nothing with nothing: boots read from the board's own log, and live scans.
    const types = new Set(held(original).facts.map(({ fact }) => fact.type));
    expect([...types]).toEqual(
      expect.arrayContaining(['board-bound', 'board-booted', 'probes-found', 'boot-read']),
    );
    expect(held(original).readings.length).toBeGreaterThan(60);
    expect(store.brokenAt()).toBeNull();
  });

  it('would not be the same with one reading changed', async () => {
    const other = newStore();
    await replayed(recorded, other);
    const [first] = held(other).readings;
    other.transaction(() => other.addReadings([{ ...first!, scan: 9999 }]));
    expect(held(other)).not.toEqual(held(original));
  });

  it('tolerates a last line that was cut off, at any place, and says so', async () => {
    const whole = await replayed(recorded);
    const last = lines.at(-1)!;
    for (const keep of [1, 20, last.length - 1]) {
      const cut = variant('cut.jsonl', `${lines.slice(0, -1).join('\n')}\n${last.slice(0, keep)}`);
      const { come } = await replayed(cut);
      expect(come.torn).toEqual([lines.length]);
      expect(come.events).toBe(whole.come.events - 1);
    }
    // Cut off behind its last character it is whole.
    const unended = variant('unended.jsonl', lines.join('\n'));
    expect((await replayed(unended)).come).toEqual(whole.come);
  });

  it('goes on in a new section after a line that was cut off', async () => {
    const path = variant('two.jsonl', `${lines.slice(0, 40).join('\n')}\n`);
    truncateSync(path, readFileSync(path).length - 10);
    const recording = recordTo(path, NO_STORE, () => {});
    recording.close();
    const { come } = await replayed(path);
    expect(come).toMatchObject({ sections: 2, torn: [40] });
    appendFileSync(path, 'x');
    expect((await replayed(path)).come.torn).toEqual([40, 42]);
  });

  it.each([
    [
      'a changed figure',
      (all: string[]) => all.with(19, all[19]!.replace('"now":1', '"now":2')),
      /line 20: does not fit its check sum/,
    ],
    [
      'a line that is missing',
      (all: string[]) => all.toSpliced(19, 1),
      /line 20: is number 21 where 20 should be/,
    ],
    [
      'a line that is there twice',
      (all: string[]) => all.toSpliced(19, 0, all[19]!),
      /line 21: is number 20 where 21/,
    ],
    [
      'a line of another file',
      (all: string[]) => all.with(19, 'a,b,c'),
      /line 20: is not a line of a recording/,
    ],
    ['an end with its newline', (all: string[]) => all.with(-1, '{"n":'), /line \d+: is not a line/],
  ])('refuses a recording with %s in one sentence with the line', async (_, damage, message) => {
    const path = variant('damaged.jsonl', `${damage(lines).join('\n')}\n`);
    await expect(checkRecording(path)).rejects.toThrow(message);
    await expect(checkRecording(path)).rejects.toThrow('replay a copy of the recording that is whole.');
  });

  it('refuses what is no recording', async () => {
    await expect(checkRecording(variant('other', 'probe,time\n'))).rejects.toThrow('is not a recording');
    await expect(checkRecording(variant('empty', ''))).rejects.toThrow('is not a recording');
    await expect(checkRecording(join(folder, 'none'))).rejects.toThrow('cannot be read (ENOENT)');
  });

  it('refuses a store that holds its scans already, and leaves it as it is', async () => {
    const before = held(original);
    await expect(replayed(recorded, original)).rejects.toThrow(/holds the scans of .*day\.jsonl already/);
    expect(held(original)).toEqual(before);
  });
});

describe('recordTo()', () => {
  it('stops recording, not logging, when the disk is full', () => {
    const said: string[] = [];
    const recording = recordTo('/dev/full', NO_STORE, (sentence) => said.push(sentence));
    const store = newStore();
    const plain = {
      record: () => store.countDiscard('no-frame', 1),
      takeInLog: () => ({}) as never,
      losePages: () => {},
      recollect: () => {},
    };
    const both = recording.of(plain, {
      name: 'x',
      carrier: null,
      anchor: { utc: START, monotonic: 0 as never },
    });
    both.record([], START);
    both.losePages(parseBoardId('0A1B2C3D')!, 1, 2, START);
    recording.close();
    expect(said).toEqual(['/dev/full cannot be written (ENOSPC): recording has stopped, logging goes on']);
    expect(store.discards()).toEqual([{ reason: 'no-frame', times: 1, bytes: 1 }]);
  });

  it.each([
    ['a store', (path: string) => openStoreToWrite(path, START).close()],
    ['a letter', (path: string) => writeFileSync(path, 'Dear all,\n')],
    ['the beginning of a recording', (path: string) => writeFileSync(path, '{"n":1,"is":"rec')],
  ])('adds nothing to a file that is %s', (_name, make) => {
    const path = join(folder, 'other');
    rmSync(path, { force: true });
    make(path);
    const before = readFileSync(path);
    expect(() => recordTo(path, NO_STORE, () => {})).toThrow(
      'other is there and is not a recording, so nothing is added to it; name a new file with --record.',
    );
    expect(readFileSync(path)).toEqual(before);
  });

  it('takes the store for no recording, under whatever name and before it is there', () => {
    const path = join(folder, 'day.sqlite');
    expect(() => recordTo(path, join(folder, '.', 'x', '..', 'day.sqlite'), () => {})).toThrow(
      'day.sqlite is the store itself',
    );
    expect(existsSync(path)).toBe(false);
    openStoreToWrite(path, START).close();
    symlinkSync(path, join(folder, 'alias'));
    expect(() => recordTo(join(folder, 'alias'), path, () => {})).toThrow('alias is the store itself');
  });

  it('begins in a file that is empty, and goes on in a recording (negative controls)', () => {
    const path = variant('empty', '');
    recordTo(path, NO_STORE, () => {}).close();
    recordTo(path, NO_STORE, () => {}).close();
    expect(readFileSync(path, 'utf8').match(/"is":"recording"/g)).toHaveLength(2);
  });

  it('refuses a file it cannot open', () => {
    expect(() => recordTo(join(folder, 'none', 'x'), NO_STORE, () => {})).toThrow(
      'cannot be opened (ENOENT); name a file in a folder you may write.',
    );
  });
});
