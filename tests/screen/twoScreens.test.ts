import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { runScreen } from '../../src/screen/runScreen.js';
import { openStoreToRead, type Store } from '../../src/store/store.js';
import type { Clock } from '../../src/units/clock.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { run } from '../cli/run.js';
import { fillStore, SHOWN_AT, storeInFolder } from './invented.js';
import { NO_ENTRY } from './noEntry.js';
import { fakeTerminal, keyboard } from './terminals.js';

let folder: ReturnType<typeof storeInFolder>;
let clock: VirtualClock;
let screens: {
  readonly stdin: { write(keys: string): unknown };
  readonly ended: Promise<unknown>;
  readonly store: Store;
}[];
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
  clock = new VirtualClock(SHOWN_AT);
  screens = [];
});
afterEach(async () => {
  for (const { stdin } of screens) stdin.write('q');
  for (const { ended, store } of screens) {
    await ended;
    store.close();
  }
  folder.remove();
});

/** The time of the test, which wakes only for some periods. */
const clockFor = (wakes: (period: number) => boolean): Clock => ({
  utc: () => clock.utc(),
  monotonic: () => clock.monotonic(),
  steady: () => clock.steady(),
  sleep: (duration, signal) => clock.sleep(duration, signal),
  every: (period, task) => (wakes(period) ? clock.every(period, task) : () => {}),
});
const [whole, secondly, peeking] = [
  () => true,
  (period: number) => period >= 1000,
  (period: number) => period < 1000,
];

/** A screen of its own on the store, as another process has it. */
async function screen(wakes: (period: number) => boolean = whole) {
  const [terminal, stdin, store] = [fakeTerminal(), keyboard(true), openStoreToRead(folder.path)];
  const ended = runScreen({
    store,
    now: () => clock.utc(),
    clock: clockFor(wakes),
    title: 'stillwarm',
    zone: 'UTC',
    entry: NO_ENTRY,
    results: () => [],
    finished: () => false,
    stdin,
    stdout: terminal.stdout,
    env: { NO_COLOR: '1' },
  });
  screens.push({ stdin, ended, store });
  const shows = (text: string) => terminal.written().includes(text);
  const shown = (text: string) => expect.poll(() => shows(text), { timeout: 5000, interval: 5 }).toBe(true);
  await shown('Carrier A');
  return { shows, shown };
}

/** A command in another terminal: a cup is seated in a slot that was empty. */
async function enterElsewhere() {
  const at = new Date(SHOWN_AT).toISOString();
  const { code, err } = await run([
    'cup',
    'load',
    'X9-QZ77',
    '--slot',
    'A:6',
    '--at',
    at,
    '--store',
    folder.path,
  ]);
  expect(code, err).toBe(0);
}

describe('two screens on one store', () => {
  it('both show within half a second what a command enters, whenever they were opened', async () => {
    const first = await screen();
    await clock.run(600);
    const second = await screen();
    // Just after the first was drawn anew: it would be next a second later, the other at 1600.
    await clock.run(1010);
    await enterElsewhere();
    expect([first, second].map(({ shows }) => shows('X9-QZ77'))).toEqual([false, false]);
    await clock.run(1500);
    await first.shown('X9-QZ77');
    await second.shown('X9-QZ77');
  });

  it('would show it only when they are drawn anew if they did not look for it', async () => {
    // Negative control of the test above: a screen that looks once a second, when it is drawn.
    const [looking, blind] = [await screen(), await screen(secondly)];
    await clock.run(1010);
    await enterElsewhere();
    await clock.run(1900);
    await looking.shown('X9-QZ77');
    expect(blind.shows('X9-QZ77')).toBe(false);
    await clock.run(2000);
    await blind.shown('X9-QZ77');
  });

  it('draw nothing for a look that finds nothing', async () => {
    const quiet = await screen(peeking);
    await clock.run(5000);
    // 181 min and 5 s after seven in the yard's zone: the clock in the corner stands, for nothing was entered.
    expect(quiet.shows('10:01:05')).toBe(false);
    await enterElsewhere();
    await clock.run(5250);
    await quiet.shown('X9-QZ77');
    expect(quiet.shows('10:01:05')).toBe(true);
  });
});
