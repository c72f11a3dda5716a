/**
 * A logger at work on one quiet source of eight probes, a scan every ten seconds, in a time of its own. Run under strace by
 * ../syncs.test.ts. Arguments: the folder of the built program, the store, how many scans, and "loudly" for signs of life
 * that are synced.
 */
import { pathToFileURL } from 'node:url';

const [build, path, scans, how] = process.argv.slice(2);
const from = (module) => import(pathToFileURL(`${build}/src/${module}`).href);
const [{ SteppedClock }, { runLogger }, { openStoreToWrite }, { seconds }, { crc8 }] = await Promise.all(
  ['carrier/emulated/steppedClock.js', 'logger/logger.js', 'store/store.js', 'units/time.js', 'units/ids.js'].map(from),
);
const START = 1_790_000_000_000;
const PERIOD = seconds(10);
const PROBES = [...Array(8).keys()].map((index) => {
  const bytes = [0x28, index, 0, 0, 0, 0, 0];
  const hex = [...bytes, crc8(bytes)].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0'));
  return { index, rom: hex.join('-') };
});

const clock = new SteppedClock(START);
const store = openStoreToWrite(path, START);
const told = () => ({
  arrival: { utc: clock.utc(), monotonic: clock.monotonic() },
  ...{ board: '0000ABCD', bootCount: 1, boardMs: clock.monotonic() },
});
const stop = new AbortController();
const source = {
  name: 'A',
  open: async () => {},
  write() {},
  run(onEvent, signal) {
    onEvent({ kind: 'probes', ...told(), table: 1, probes: PROBES });
    let scan = 0;
    clock.every(PERIOD, () => {
      scan += 1;
      const readings = PROBES.map((probe) => ({ ...probe, raw: 400 + (scan % 7), status: 'ok' }));
      onEvent({ kind: 'scan', ...told(), scan, table: 1, readings });
    });
    return new Promise((resolve) => signal.addEventListener('abort', resolve));
  },
};
const loud = { ...store, beat: (row) => (store.setLogger(row), true) };
const running = runLogger({
  ...{ store: how === 'loudly' ? loud : store, sources: [{ source, carrier: null }], clock },
  ...{ pid: process.pid, say() {}, signal: stop.signal, whenUnwritable: 'wait' },
});
await new Promise((resolve) => setImmediate(resolve));
// Past the last scan, so that it is handed on.
clock.moveTo(PERIOD * Number(scans) + 1000);
if (store.readingCount() !== PROBES.length * Number(scans)) throw new Error(`${store.readingCount()} readings`);
stop.abort();
await running;
store.close();
