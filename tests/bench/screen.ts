import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openStoreToWrite } from '../../src/store/store.js';
import { durationMs, later, utcMs } from '../../src/units/time.js';
import { missingPackages } from '../tools/debianPrograms.js';
import { drawing, wait } from './onTerminal.js';
import { factsOfRide, PERIOD_MS, scanOf } from './ride.js';
import { median, type Row } from './row.js';

/** The screen as crews run it: the built program on a terminal, late in a ride of two carriers of twelve cups. */
const PROGRAM = fileURLToPath(new URL('../../src/cli/stillwarm.js', import.meta.url));
const ONE_WORD = [
  '--input-type=module',
  '-e',
  'process.stdout.write("empty"); process.stdin.setRawMode(true).once("data", () => process.exit());',
];
const STARTS = 5;
const WATCHED_S = 30;
/** Most of three hours, so that what is held of the cups is near its most. */
const RIDDEN_MS = 170 * 60_000;

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-screen-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
const path = join(folder, 'season.sqlite');

/** Makes the store; gives how to add one more scan of all probes and a sign of life. */
function ride(): () => void {
  const begun = later(utcMs(Date.now()), durationMs(-RIDDEN_MS));
  const store = openStoreToWrite(path, begun);
  let scans = 0;
  store.transaction(() => {
    store.append(begun, ...factsOfRide(begun));
    for (; scans < RIDDEN_MS / PERIOD_MS; scans += 1)
      store.addReadings(scanOf(scans, begun, later(begun, durationMs(scans * PERIOD_MS))));
  });
  return () =>
    store.transaction(() => {
      const now = utcMs(Date.now());
      store.addReadings(scanOf(scans++, begun, now));
      store.setLogger({ pid: process.pid, beat: now, now, speed: 1, state: 'running' });
    });
}

let rideOn: (() => void) | null = null;
const watch = () => {
  rideOn ??= ride();
  rideOn();
  return drawing(folder, [PROGRAM, 'watch', '--store', path], /Carrier A.*Carrier B/s);
};
const oneWord = () => drawing(folder, ONE_WORD, /empty/);

/** Median of several starts. */
async function firstPicture(start: typeof watch): Promise<number> {
  const times: number[] = [];
  for (let n = 0; n < STARTS; n += 1) {
    const screen = await start();
    times.push(screen.firstPictureSeconds);
    await screen.quit('q');
  }
  return median(times);
}

/** What the screen takes while readings come every second. */
async function watched(): Promise<{ processorMsPerSecond: number; peakMB: number }> {
  const screen = await watch();
  await wait(2000);
  const [begun, before] = [performance.now(), screen.processorSeconds()];
  for (let second = 1; second <= WATCHED_S; second += 1) {
    rideOn!();
    await wait(begun + second * 1000 - performance.now());
  }
  const seconds = (performance.now() - begun) / 1000;
  const processorMsPerSecond = ((screen.processorSeconds() - before) * 1000) / seconds;
  const peakMB = screen.peakMB();
  await screen.quit('q');
  return { processorMsPerSecond, peakMB };
}

let last: ReturnType<typeof watched> | null = null;
const lastWatched = () => {
  last ??= watched();
  return last;
};

async function peakOfOneWord(): Promise<number> {
  const empty = await oneWord();
  await wait(1000);
  const peak = empty.peakMB();
  await empty.quit('q');
  return peak;
}

const onTerminal: readonly Row[] = [
  {
    name: 'screen: from the start of watch to its first picture',
    against: 'one second',
    aim: { atMost: 1 },
    runs: 3,
    measure: async () => ({ ours: await firstPicture(watch), other: 1 }),
  },
  {
    name: 'screen: from the start of watch to its first picture',
    against: 'a bare Node program that draws one word',
    aim: null,
    runs: 3,
    measure: async () => ({ ours: await firstPicture(watch), other: await firstPicture(oneWord) }),
  },
  {
    name: 'screen: processor, two carriers of twelve, each read every second',
    against: 'one core',
    aim: { atMost: 0.04 },
    runs: 3,
    unit: 'ms a second',
    async measure() {
      last = watched();
      return { ours: (await last).processorMsPerSecond, other: 1000 };
    },
  },
  {
    name: 'screen: peak memory of watch meanwhile',
    against: '130 MB',
    aim: { atMost: 1 },
    runs: 1,
    unit: 'MB',
    measure: async () => ({ ours: (await lastWatched()).peakMB, other: 130 }),
  },
  {
    name: 'screen: peak memory of watch meanwhile',
    against: 'a bare Node program that draws one word',
    aim: null,
    runs: 1,
    unit: 'MB',
    measure: async () => ({ ours: (await lastWatched()).peakMB, other: await peakOfOneWord() }),
  },
];

export const rows: readonly Row[] = missingPackages(['socat']).length === 0 ? onTerminal : [];
