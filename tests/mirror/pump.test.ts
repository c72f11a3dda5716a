import { describe, expect, it } from 'vitest';
import type { Answer } from '../../src/mirror/answer.js';
import type { Point } from '../../src/mirror/points.js';
import { BACK_OFF_MAX, LOOK, runPump, SUSPECTS_MAX } from '../../src/mirror/pump.js';
import { BATCH_MAX } from '../../src/mirror/session.js';
import type { Store } from '../../src/store/store.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';
import { eachInNewStore } from '../visit/newStore.js';
import { addBacklog, aim, invented, NINE, scan } from './rig.js';

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
}, NINE);

/** Runs the pump in simulated time for so many rounds against a server made of one function. */
async function rounds(
  count: number,
  server: {
    answer: (points: readonly Point[]) => Answer | Promise<Answer>;
    isLost?: () => boolean;
    each?: (round: number) => void;
  },
) {
  let now = 0;
  let round = 0;
  const stop = new AbortController();
  const waits: number[] = [];
  const batches: number[] = [];
  const said: string[] = [];
  await runPump({
    store,
    clock: {
      utc: () => utcMs(NINE + now),
      monotonic: () => monotonicMs(now),
      sleep: async (duration) => {
        waits.push(duration);
        now += duration;
        round += 1;
        server.each?.(round);
        if (round === count) stop.abort();
      },
    },
    connect: async () => ({
      write: async (points) => {
        batches.push(points.length);
        return server.answer(points);
      },
      isLost: () => server.isLost?.() ?? false,
      close: () => {},
    }),
    say: (sentence) => said.push(sentence),
    signal: stop.signal,
  });
  return { waits: waits.filter((wait) => wait > 0), batches, said };
}
const TAKEN: Answer = { is: 'taken' };
const refused = (): Answer => ({ is: 'refused', words: 'unable to parse', left: null });
const refusals = () =>
  store
    .facts()
    .filter(({ fact }) => fact.type === 'mirror-refused')
    .map(({ fact }) => fact);

describe('runPump()', () => {
  it('does nothing while the mirror is off', async () => {
    addBacklog(store, 0, 5);
    expect((await rounds(3, { answer: () => TAKEN })).batches).toEqual([]);
    aim(store, 'http://127.0.0.1');
    store.turnMirrorOff();
    expect((await rounds(3, { answer: () => TAKEN })).batches).toEqual([]);
  });

  it('never sends more than a batch at once', async () => {
    addBacklog(store, 0, 500);
    aim(store, 'http://127.0.0.1');
    expect((await rounds(8, { answer: () => TAKEN })).batches).toEqual([
      BATCH_MAX,
      BATCH_MAX,
      BATCH_MAX / 2 + 1000,
    ]);
  });

  it('waits twice as long after each failure, up to a minute, and says it once', async () => {
    addBacklog(store, 0, 1);
    aim(store, 'http://127.0.0.1');
    const { waits, said } = await rounds(21, { answer: () => ({ is: 'again', words: 'gone' }) });
    expect(waits.map((wait) => wait / 1000)).toEqual([1, 2, 4, 8, 16, 32, 60, 60, 60, 60]);
    expect(BACK_OFF_MAX).toBe(60_000);
    expect(said).toEqual(['mirror: gone; what it has not got waits here, and is tried again']);
  });

  it('finds the one row that is refused, takes the others, and puts it on record when others are taken', async () => {
    addBacklog(store, 0, 20);
    aim(store, 'http://127.0.0.1');
    const bad = store.readingsAfter(100, 1)[0]!;
    const taken = new Set<string>();
    await rounds(40, {
      answer: (points) => {
        if (points.some(({ tags, timestamp }) => tags['probe'] === bad.rom && timestamp === bad.utc))
          return refused();
        for (const { tags, timestamp } of points) taken.add(`${tags['probe']} ${timestamp}`);
        return TAKEN;
      },
    });
    expect(taken.size).toBe(239);
    expect(refusals()).toEqual([
      expect.objectContaining({ count: 1, first: bad.id, last: bad.id, why: 'unable to parse' }),
    ]);
    expect(store.mirror()).toMatchObject({
      sent: { readings: 240 },
      released: { readings: 240 },
      refused: 1,
    });
  });

  it('stops, and sets nothing aside, when every row is refused', async () => {
    addBacklog(store, 0, 20);
    aim(store, 'http://127.0.0.1');
    const { batches } = await rounds(60, { answer: refused });
    expect(batches.filter((points) => points === 1)).toHaveLength(SUSPECTS_MAX);
    expect(refusals()).toEqual([]);
    expect(store.mirror()).toMatchObject({ state: 'stopped', sent: { readings: 0 }, refused: 0 });
  });

  it('does not pass a refused row for good before another is taken', async () => {
    addBacklog(store, 0, 1);
    aim(store, 'http://127.0.0.1');
    // All but the last five are taken; nothing follows them.
    await rounds(60, {
      answer: (points) => (points.some(({ tags }) => tags['probe']! > '28-08') ? refused() : TAKEN),
    });
    expect(store.mirror()!.sent.readings).toBeLessThan(12);
    expect(refusals()).toEqual([]);
  });

  it('releases rows when they were held long enough, and not before', async () => {
    addBacklog(store, 0, 1);
    aim(store, 'http://127.0.0.1', { holdSeconds: 60 });
    await rounds(Math.floor(59_000 / LOOK), { answer: () => TAKEN });
    expect(store.mirror()).toMatchObject({ sent: { readings: 12 }, released: { readings: 0 } });
    await rounds(Math.ceil(63_000 / LOOK), { answer: () => TAKEN });
    expect(store.mirror()).toMatchObject({ released: { readings: 12 } });
  });

  it('sends again everything that is held when a try fails, before any of it is released', async () => {
    addBacklog(store, 0, 500);
    aim(store, 'http://127.0.0.1', { holdSeconds: 60 });
    // Killed with the third batch on its way, a server that holds rows in memory has lost the first two as well.
    const had = new Set<string>();
    const answers: Answer['is'][] = ['taken', 'taken', 'again'];
    const server = {
      answer: (points: readonly Point[]): Answer => {
        const is = answers.shift() ?? 'taken';
        if (is === 'again') had.clear();
        else for (const { tags, timestamp } of points) had.add(`${timestamp} ${tags['probe']}`);
        return is === 'again' ? { is, words: 'gone' } : TAKEN;
      },
    };
    const { batches } = await rounds(12, server);
    expect(batches).toEqual([2000, 2000, 2000, 2000, 2000, 2000]);
    expect(store.mirror()!.released.readings).toBe(0);
    expect(store.mirror()!.sent.readings).toBe(6000);
    expect(had.size).toBe(6000);
  });

  it('comes to an end with a server that drops every idle connection', async () => {
    addBacklog(store, 0, 1);
    aim(store, 'http://127.0.0.1', { holdSeconds: 60 });
    const { batches } = await rounds(80, { answer: () => TAKEN, isLost: () => true });
    // Once, and three times more for the three losses.
    expect(batches).toEqual([12, 12, 12, 12]);
    expect(store.mirror()!.released.readings).toBe(12);
  });

  /** A backlog of ten batches, and what the store and the server are asked, in order. */
  async function watched(server: Answer[] = [], kept = BATCH_MAX) {
    addBacklog(store, 0, 1600);
    store.transaction(() => store.addReadings(scan(9999).slice(0, 8)));
    aim(store, 'http://127.0.0.1');
    const { readingsAfter, moveMirror } = store;
    const steps: string[] = [];
    let [asked, acknowledged] = [0, 0];
    const early: number[] = [];
    store.readingsAfter = (id, limit) => {
      steps.push(`read after ${id}`);
      return readingsAfter(id, limit);
    };
    store.moveMirror = (revision, sent, ...rest) => {
      steps.push(`record ${sent.readings}`);
      if (sent.readings > acknowledged) early.push(sent.readings);
      return moveMirror(revision, sent, ...rest);
    };
    await rounds(40, {
      answer: async (points) => {
        const { tags, timestamp } = points[0]!;
        const number = (timestamp - NINE - 86_400_000) / 10_000;
        const rom = tags['probe'];
        const first =
          number * 12 + [...Array(12).keys()].findIndex((index) => invented(index + 1) === rom) + 1;
        steps.push(`send ${first}`);
        // The answer takes long enough for whatever the pump does meanwhile.
        for (let turn = 0; turn < 50; turn += 1) await null;
        const answer = server[asked] ?? TAKEN;
        asked += 1;
        steps.push(answer.is);
        if (answer.is === 'taken')
          acknowledged = Math.max(acknowledged, first - 1 + Math.min(points.length, kept));
        return answer;
      },
    });
    return { steps, early };
  }

  it('reads the next batch while one is on its way, and records many at once', async () => {
    const { steps, early } = await watched();
    expect(steps.slice(0, 8)).toEqual([
      // The store's first fact, of which nothing is to be sent.
      'record 0',
      'read after 0',
      'send 1',
      'read after 2000',
      'taken',
      'send 2001',
      'read after 4000',
      'taken',
    ]);
    expect(steps.filter((step) => step.startsWith('send'))).toHaveLength(10);
    // All ten at the end, for in simulated time they took less than a second.
    expect(steps.filter((step) => step.startsWith('record'))).toEqual(['record 0', 'record 19208']);
    expect(early).toEqual([]);
  });

  it('sends a batch again before what was read meanwhile, and records what was taken first', async () => {
    const { steps, early } = await watched([TAKEN, TAKEN, { is: 'again', words: 'gone' }]);
    expect(steps.filter((step) => /^(send|record|again)/.test(step)).slice(1, 8)).toEqual([
      'send 1',
      'send 2001',
      'send 4001',
      'again',
      'record 4000',
      'send 4001',
      'send 6001',
    ]);
    expect(early).toEqual([]);
  });

  it('is found out when it records what the server has not got', async () => {
    // A server that takes the first hundred of a batch only stands for a pump that does not wait for the answer.
    expect((await watched([], 100)).early).not.toEqual([]);
  });

  it('goes on when the store could not be written for a while', async () => {
    addBacklog(store, 0, 1);
    aim(store, 'http://127.0.0.1');
    const { moveMirror } = store;
    let broken = 2;
    store.moveMirror = (...args) => {
      broken -= 1;
      if (broken >= 0) throw new Error('disk');
      return moveMirror(...args);
    };
    const { said } = await rounds(6, { answer: () => TAKEN });
    expect(said).toEqual(['Error in the mirror']);
    expect(store.mirror()!.sent.readings).toBe(12);
  });
});
