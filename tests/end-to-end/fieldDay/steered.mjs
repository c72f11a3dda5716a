/**
 * A field day whose time is steered: the emulated carrier with the real image, the logger, and on this terminal the screen,
 * all by one clock that moves on only when it is told to. What a test says comes over a socket, a JSON line each, and is
 * answered by one: {"until": ms} moves on, {"run": [...]} runs a command line, {"keys": n} waits until so many characters
 * were typed and taken in all, {"cable": "out"} unplugs the board and {"cable": "in"} plugs it in again.
 * Arguments: the folder of the built program, the folder with day.json (a ride and its carrier), then the command line of
 * the screen, or nothing.
 */
import { readFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { createInterface } from 'node:readline';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

const [build, folder, ...screenLine] = process.argv.slice(2);
const from = (path) => import(pathToFileURL(join(build, 'src', path)).href);
const [{ emulatedSource }, { SOUND }, { createVehicle }, { runLogger }, { openStoreToWrite }, { main }] =
  await Promise.all(
    [
      'carrier/emulated/emulatedSource.js',
      'carrier/emulated/scenarioBoard.js',
      'emulator/vehicle.js',
      'logger/logger.js',
      'store/store.js',
      'cli/main.js',
    ].map(from),
  );

const { ride, carrier } = JSON.parse(readFileSync(join(folder, 'day.json'), 'utf8'));
const scenario = { ...ride, carriers: [carrier], vehicle: () => createVehicle(ride) };
/** Steps between two looks at the socket and the keys. */
const STEPS = 200;

let until = 0;
let goOn = () => {};
let steps = 0;
/** Lets the carrier run on as far as it may, and no further. */
const gate = {
  monotonic: () => 0,
  sleep: async (_duration, signal) => {
    steps += 1;
    if (steps % STEPS === 0) await new Promise((resolve) => setImmediate(resolve));
    while (source.clock.monotonic() >= until && !signal.aborted) {
      arrived();
      await new Promise((resolve) => {
        goOn = resolve;
      });
    }
  },
};
const source = emulatedSource(scenario, carrier, { faults: SOUND, speed: Number.POSITIVE_INFINITY, real: gate });

/** The board on a cable that can be unplugged; it runs on, and opening its port again resets it. */
let hear = null;
let isPlugged = true;
const onCable = {
  name: source.name,
  open: () => source.open(),
  write: (line) => isPlugged && source.write(line),
  run(onEvent, signal) {
    hear = onEvent;
    return source.run((event) => isPlugged && onEvent(event), signal);
  },
};
async function plug(isIn) {
  const arrival = { utc: source.clock.utc(), monotonic: source.clock.monotonic() };
  const detail = isIn ? 'plugged in again' : 'unplugged';
  if (isIn) await source.open();
  isPlugged = isIn;
  hear({ kind: 'link', arrival, state: isIn ? 'open' : 'closed', detail });
}

let arrived = () => {};
const moveTo = (ms) =>
  new Promise((resolve) => {
    until = ms;
    arrived = resolve;
    goOn();
  });

process.chdir(folder);
const path = 'day.sqlite';
const store = openStoreToWrite(path, source.clock.utc());
const { record } = await from('visit/record.js');
record(store, ride.start, () =>
  carrier.slots.map(({ slot, rom }) => ({
    type: 'probe-assigned',
    carrier: carrier.carrier,
    slot,
    rom,
    at: ride.start,
  })),
);
const stop = new AbortController();
await source.open();
const logging = runLogger({
  store,
  sources: [{ source: onCable, carrier: carrier.carrier }],
  clock: source.clock,
  pid: process.pid,
  who: 'the second of the crew',
  say: () => {},
  signal: stop.signal,
});

/** The clock as the screen has it: the same time, and what it does regularly is done once after each move. */
const looks = new Set();
const { clock } = source;
const screenClock = {
  utc: () => clock.utc(),
  monotonic: () => clock.monotonic(),
  steady: () => clock.steady(),
  sleep: () => Promise.resolve(),
  every: (_period, task) => {
    looks.add(task);
    return () => looks.delete(task);
  },
};
const run = async (line) => {
  const said = { out: '', err: '' };
  const code = await main(line, {
    io: { out: (text) => (said.out += `${text}\n`), err: (text) => (said.err += `${text}\n`) },
    clock: screenClock,
  });
  return { code, ...said };
};
/** How many characters the screen has taken. */
let taken = 0;
let awaited = { keys: 0, resolve: () => {} };
process.stdin.on('data', (chunk) => {
  taken += chunk.toString().length;
  // The screen hears of them in the same turn.
  if (taken >= awaited.keys) setImmediate(awaited.resolve);
});
const typed = (keys) =>
  new Promise((resolve) => {
    awaited = { keys, resolve };
    if (taken >= keys) resolve();
  });
async function answer({ until: ms, run: line, keys, cable }) {
  if (line !== undefined) return run(line);
  if (cable !== undefined) {
    await plug(cable === 'in');
    return {};
  }
  if (keys !== undefined) {
    await typed(keys);
    return {};
  }
  await moveTo(ms);
  for (const look of looks) look();
  return {};
}
const server = createServer((peer) => {
  let last = Promise.resolve();
  createInterface({ input: peer }).on('line', (text) => {
    last = last.then(async () => peer.write(`${JSON.stringify(await answer(JSON.parse(text)))}\n`));
  });
  peer.on('error', () => {});
}).listen('steer.sock');

if (screenLine.length > 0) {
  await moveTo(1000);
  const io = { out: (text) => process.stdout.write(`${text}\n`), err: (text) => process.stderr.write(`${text}\n`) };
  process.exitCode = await main([...screenLine, '--store', path], { io, clock: screenClock });
} else await new Promise((resolve) => process.once('SIGTERM', resolve));
server.close();
stop.abort();
goOn();
await logging;
store.close();
process.exit();
