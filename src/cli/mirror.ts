import { resolve } from 'node:path';
import type { Command } from 'commander';
import { refuseUnfit } from '../logger/openToLog.js';
import { isLogging } from '../logger/presence.js';
import type { Connection } from '../mirror/connection.js';
import { CREDENTIALS_VARIABLE } from '../mirror/credentials.js';
import { type Progress, runPump } from '../mirror/pump.js';
import {
  HOLD_SECONDS,
  isSamePlace,
  type Target,
  targetFromJson,
  targetOf,
  targetToJson,
} from '../mirror/target.js';
import type { Store } from '../store/store.js';
import { openStoreToWrite } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { CheckFailed } from './checkFailed.js';
import { type Context, onStore, reading, type StoreOptions, withStore, writing } from './context.js';
import { mirrorConnection } from './logging/mirrorPump.js';
import { stopSignal } from './stopSignal.js';

interface SetupOptions extends StoreOptions {
  readonly database: string;
  readonly credentials?: string;
  readonly ca?: string;
  readonly hold: string;
  readonly allowPlainHttp?: true;
  readonly fromStart?: true;
}

/** The commands `mirror setup`, `status`, `send` and `off`: readings and rulings to a time-series server. */
export function define(mirror: Command, context: Context): void {
  withStore(mirror.command('setup <url>'))
    .description('send readings and rulings to a server that takes the InfluxDB 1.x write protocol')
    .requiredOption('--database <name>', 'the database there; it must exist')
    .option(
      '--credentials <file>',
      `file with USER:PASSWORD, readable by its owner alone (or the variable ${CREDENTIALS_VARIABLE})`,
    )
    .option('--ca <file>', 'certificate authorities to trust instead of the usual ones (PEM)')
    .option(
      '--hold <seconds>',
      'how long acknowledged rows may be sent again when the server was gone',
      String(HOLD_SECONDS),
    )
    .option('--allow-plain-http', 'send in the clear to another computer')
    .option('--from-start', 'send everything again')
    .action((url: string, options: SetupOptions) => setUp(url, options, context));
  onStore(mirror.command('status'))
    .description('how far the mirror is behind, its last trouble and its last success')
    .action((options: StoreOptions) => reading(options.store, (store) => status(store, options, context)));
  withStore(mirror.command('send'))
    .description('send what the server has not got, when no logger runs')
    .action((options: StoreOptions) => send(options.store, context));
  withStore(mirror.command('off'))
    .description('stop sending; a later setup for the same place goes on where it stopped')
    .action((options: StoreOptions) =>
      writing(context, options.store, (store) => {
        if (store.mirror() === null) throw new Refusal('The mirror was never set up; nothing is sent.');
        store.turnMirrorOff();
        context.io.out('mirror: off');
      }),
    );
}

async function setUp(address: string, options: SetupOptions, context: Context): Promise<void> {
  const target = targetOf({
    address,
    database: options.database,
    // A logger may run in another folder.
    credentialsFile: options.credentials === undefined ? null : resolve(options.credentials),
    caFile: options.ca === undefined ? null : resolve(options.ca),
    holdSeconds: /^\d+$/.test(options.hold) ? Number(options.hold) : Number.NaN,
    allowPlainHttp: options.allowPlainHttp ?? false,
  });
  // Refuses files that cannot be used; nothing is sent yet.
  const connection = await mirrorConnection(context.clock)(target);
  writing(context, options.store, (store) =>
    store.transaction(() => {
      const before = store.mirror();
      const isNew = before === null || !isSamePlace(targetFromJson(before.target), target);
      store.setMirror(targetToJson(target), isNew || options.fromStart === true);
      const { sent } = store.mirror()!;
      context.io.out(
        `mirror: on, to ${target.url}, database ${target.database}; ${store.readingsBehind(sent.readings)} readings to send`,
      );
      context.io.out(
        'A running logger begins by itself; without one, mirror send does. Look at mirror status.',
      );
    }),
  );
  await tryOut(options.store, target, connection, context);
}

/**
 * Asks the server at once, while whoever set it up is still there. It is sent a batch of no rows, which tells all the same whether
 * it is there, lets this user write and has the database. What is wrong is put on record for `mirror status`.
 *
 * @throws {CheckFailed} when nothing will be sent before a person has done something
 */
async function tryOut(path: string, target: Target, connection: Connection, context: Context): Promise<void> {
  const { io } = context;
  const answer = await connection.write([]);
  connection.close();
  if (answer.is === 'taken') return io.out('The server answers, and takes what this user writes there.');
  writing(context, path, (store) =>
    store.transaction(() => {
      const { state, revision } = store.mirror()!;
      // A logger that has tried meanwhile knows better: it is the one that sends.
      if (state !== 'new') return;
      store.tellMirror(
        revision,
        answer.is === 'again' ? 'waiting' : 'stopped',
        answer.words,
        context.clock.utc(),
      );
    }),
  );
  if (answer.is === 'again')
    return io.err(
      `The server was tried and did not take an empty batch: ${answer.words}. The mirror stays on: it is tried again, and what the server has not got waits in the store.`,
    );
  throw new CheckFailed(
    `The server was tried: ${answer.words}${triedWith(target, answer.words)}. The mirror stays on, and what the server has not got waits in the store: mend that, then run mirror setup again. A logger or mirror send that is started before that tries, too.`,
  );
}

/** Where credentials were looked for, when no file was named and the server would have others. */
function triedWith({ credentialsFile }: Target, words: string): string {
  if (credentialsFile !== null || !/\((401|403)\)/.test(words)) return '';
  return process.env[CREDENTIALS_VARIABLE] === undefined
    ? ` (tried without: no --credentials were given, and ${CREDENTIALS_VARIABLE} is not set here)`
    : ` (tried with ${CREDENTIALS_VARIABLE} as it is set here)`;
}

function status(store: Store, options: StoreOptions, { io, clock }: Context): void {
  const row = store.mirror();
  const isLogged = isLogging(store.logger(), clock.utc());
  if (row === null) {
    io.out(options.json ? JSON.stringify({ mirror: null }) : 'mirror: off (never set up)');
    return;
  }
  const target = targetFromJson(row.target);
  const behind = {
    readings: store.readingsBehind(row.sent.readings),
    rulings: store
      .facts(row.sent.facts)
      .filter(({ fact }) => fact.type === 'cup-ruled' || fact.type === 'cup-overruled').length,
  };
  const held = store.readingsBehind(row.released.readings) - behind.readings;
  if (options.json) {
    const mirror = {
      isOn: row.isOn,
      url: target.url,
      database: target.database,
      state: row.state,
      isLogging: isLogged,
      behind,
      held,
      refused: row.refused,
      lastSuccess: row.success === null ? null : formatInstant(row.success),
      lastTrouble:
        row.trouble === null ? null : { words: row.trouble.words, at: formatInstant(row.trouble.at) },
    };
    io.out(JSON.stringify({ mirror }));
    return;
  }
  const zone = localZone();
  io.out(`mirror: ${row.isOn ? 'on' : 'off'}, to ${target.url}, database ${target.database}`);
  if (row.isOn) io.out(stateInWords(row.state, isLogged));
  io.out(`behind by ${plural(behind.readings, 'reading')} and ${plural(behind.rulings, 'ruling')}`);
  if (held > 0)
    io.out(`${plural(held, 'reading')} acknowledged in the last ${target.holdSeconds} s may be sent again`);
  if (row.refused > 0)
    io.out(`the server would not take ${plural(row.refused, 'row')}; the facts mirror-refused say which`);
  io.out(`last success: ${row.success === null ? 'none yet' : inZone(row.success, zone)}`);
  io.out(
    `last trouble: ${row.trouble === null ? 'none' : `${inZone(row.trouble.at, zone)} ${row.trouble.words}`}`,
  );
}

const plural = (count: number, noun: string) => `${count} ${noun}${count === 1 ? '' : 's'}`;

function stateInWords(state: string, isLogged: boolean): string {
  if (state === 'stopped')
    return isLogged
      ? 'stopped: mend what the last trouble says, then run mirror setup again or restart the logger'
      : 'stopped: mend what the last trouble says, then run mirror setup again, or start a logger or mirror send';
  if (!isLogged) return 'no logger runs, so nothing is sent; start one, or run mirror send';
  return state === 'waiting' ? 'waiting: tried again by itself' : 'sending as readings come in';
}

/** Tries in a row that may fail before a person is told. */
const FAILURES_MAX = 4;

async function send(path: string, context: Context): Promise<void> {
  const { clock, io } = context;
  refuseUnfit(path, process.pid, clock.utc(), io.err);
  const store = openStoreToWrite(path, clock.utc(), io.err);
  const { signal, stop, done } = stopSignal();
  let last: Progress | null = null;
  let isTold = false;
  const onProgress = (progress: Progress) => {
    last = progress;
    const { state, isDone, isAcknowledged, failures } = progress;
    if (isDone || state === 'off' || state === 'stopped' || failures >= FAILURES_MAX) stop();
    else if (isAcknowledged && !isTold) {
      isTold = true;
      io.err('All is acknowledged; waiting until it need not be sent again (Ctrl-C does no harm).');
    }
  };
  try {
    const row = store.mirror();
    if (row === null || !row.isOn) throw new Refusal('The mirror is off; set it up with mirror setup.');
    await runPump({ store, clock, connect: mirrorConnection(clock), say: io.err, signal, onProgress });
    const after = store.mirror()!;
    const behind = store.readingsBehind(after.sent.readings);
    const { state = 'off', words = null } = (last as Progress | null) ?? {};
    if (state === 'stopped' || state === 'waiting')
      throw new Refusal(
        behind > 0
          ? `The server has not got ${plural(behind, 'reading')}: ${words}.`
          : `The server has acknowledged everything, and what it got last could not be sent again to be safe: ${words}.`,
      );
    io.out(`mirror: behind by ${plural(behind, 'reading')}`);
  } finally {
    done();
    store.close();
  }
}
