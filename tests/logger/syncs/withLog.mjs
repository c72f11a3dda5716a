/**
 * A logger at work on an emulated board with the real image, in the board's time: first the board is alone and fills its log,
 * then the logger reads that and goes on hearing scans. Says on stdout which page of the log it acknowledged. Run under strace by
 * ../syncs.test.ts and ../powerLoss.test.ts. Arguments: the folder of the built program, the store, minutes alone, minutes
 * heard, and "loudly" for pages that are synced.
 */
import { writeSync } from 'node:fs';
import { pathToFileURL } from 'node:url';

const [build, path, alone, heard, how] = process.argv.slice(2);
const from = (module) => import(pathToFileURL(`${build}/src/${module}`).href);
const [{ SOUND }, { emulatedSource }, { findScenario }, { runLogger }, { openStoreToWrite }, { minutes }] = await Promise.all(
  [
    ...['carrier/emulated/scenarioBoard.js', 'carrier/emulated/emulatedSource.js', 'emulator/scenarios/index.js'],
    ...['logger/logger.js', 'store/store.js', 'units/time.js'],
  ].map(from),
);

const scenario = findScenario('warm-day');
const carrier = scenario.carriers[0];
const unhurried = { monotonic: () => 0, sleep: () => new Promise((resolve) => setImmediate(resolve)) };
const source = emulatedSource(scenario, carrier, { faults: SOUND, speed: Number.POSITIVE_INFINITY, real: unhurried });
source.alone(minutes(Number(alone)));
const { clock } = source;
const store = openStoreToWrite(path, clock.utc());
const told = {
  ...source,
  write(line) {
    // docs/wire-protocol.md, "Commands"
    const page = /^!K,[0-9A-F]{2},([0-9A-F]{6})\*/.exec(line)?.[1];
    if (page !== undefined) writeSync(1, `acknowledged ${Number.parseInt(page, 16)}\n`);
    source.write(line);
  },
};
const stop = new AbortController();
clock.every(minutes(Number(heard)), () => stop.abort());
await source.open();
await runLogger({
  store: how === 'loudly' ? { ...store, unsynced: store.transaction } : store,
  ...{ sources: [{ source: told, carrier: carrier.carrier }], clock, pid: process.pid },
  ...{ say() {}, signal: stop.signal, whenUnwritable: 'end' },
});
store.close();
