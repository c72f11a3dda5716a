import type { Command } from 'commander';
import type { BoardSession } from '../carrier/boardSession.js';
import { presentPorts } from '../carrier/presentPorts.js';
import type { CarrierSource } from '../carrier/source.js';
import { boardId } from '../store/factFields.js';
import { kindOfFile } from '../store/header.js';
import type { Clock } from '../units/clock.js';
import { parseCarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { seconds } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import { defineShow } from './carrierShow.js';
import { CheckFailed } from './checkFailed.js';
import {
  type Context,
  nowIn,
  onStore,
  reading,
  report,
  type StoreOptions,
  typed,
  writing,
} from './context.js';
import { type EmulateOptions, emulatedCarrierOf, withEmulate } from './emulatedCarrier.js';
import { flash } from './flash.js';
import { textTable } from './textTable.js';
import { whoDoes } from './whoDoes.js';

const PORT = ['--port <port>', "the board's serial port"] as const;
const CHECK_SECONDS = 75;

type PairOptions = StoreOptions & { readonly port?: string; readonly by?: string };

/** The command `carrier`: boards, ports, and what is between them. */
export function define(carrier: Command, context: Context): void {
  const { io } = context;

  onStore(carrier.command('list'))
    .description('the boards on record, and the serial ports of this computer')
    .action(async (options: StoreOptions) => {
      const ports = await presentPorts();
      // A newcomer looks for a port before there is a store.
      const boards = kindOfFile(options.store) === 'store' ? knownBoards(options.store) : [];
      if (options.json) return io.out(JSON.stringify({ boards, ports }));
      const rows = [
        ...boards.map(({ board, carrier: name, firmware, boot, booted }) => [
          `board ${board}`,
          name === null ? 'no carrier' : `carrier ${name}`,
          `firmware ${firmware}`,
          `boot ${boot} at ${booted}`,
        ]),
        ...ports.map((port) => [`port ${port}`]),
      ];
      for (const line of textTable(rows)) io.out(line);
      if (rows.length === 0) io.out('no boards on record, and no serial port');
    });

  defineShow(carrier, context);

  onStore(carrier.command('pair <carrier> [board]'))
    .description('say which board is built into a carrier, by its id or by its port')
    .option(...PORT)
    .option('--by <name>', 'who says so; kept beside the facts (default: the name of this user)')
    .action(async (name: string, text: string | undefined, options: PairOptions) => {
      const who = whoDoes(options);
      const id = typed(parseCarrierId, 'carrier name', name);
      if ((text === undefined) === (options.port === undefined))
        throw new Refusal('Give either the id of a board (carrier list) or --port.');
      const board = boardId.safeParse(text ?? (await onBoard(options.port!, context, async () => {})).board);
      if (!board.success)
        throw new Refusal(`${text} ${board.error.issues[0]!.message}; copy it from carrier list.`);
      writing(context, options.store, (store) => {
        const now = nowIn(options.store, context);
        const facts = record(store, now, () => [
          { type: 'board-bound', carrier: id, board: board.data, at: now, who: store.keepText(who) },
        ]);
        report(io, options.json, facts, `board ${board.data} is built into carrier ${id}`);
      });
    });

  withEmulate(carrier.command('check'))
    .description(
      'listen to a wired carrier and test its probes, memory, clock and lines; exit 3 when one fails',
    )
    .option(...PORT)
    .option('--probes <number>', 'how many probes it should have')
    .option('--seconds <number>', 'how long to listen', `${CHECK_SECONDS}`)
    .option('--json', 'print JSON')
    .action((options: CheckOptions) => check(options, context));

  carrier
    .command('settings')
    .description('read what a board is set to, or set its scan periods (10 to 25 s)')
    .requiredOption(...PORT)
    .option('--with-host <seconds>', 'scan period while a host listens')
    .option('--alone <seconds>', 'scan period alone')
    .option('--json', 'print JSON')
    .action((options: SettingsOptions) => settings(options, context));

  carrier
    .command('flash')
    .description('write the firmware with avrdude (so far tested up to its command line only)')
    .requiredOption(...PORT)
    .option('--image <file>', 'another image than the one that comes with this program')
    .option('--baud <speed>', 'speed of the bootloader: 115200, or 57600 of older ones', '115200')
    .option('--dry-run', 'say what would be done, and do nothing')
    .action((options: { port: string; image?: string; baud: string; dryRun?: true }) => flash(options, io));
}

function knownBoards(path: string) {
  return reading(path, (store, season) => {
    const bound = new Map([...season.carriers.values()].map(({ carrier, board }) => [board, carrier]));
    const boards = new Map<
      string,
      { board: string; carrier: string | null; firmware: string; boot: number; booted: string }
    >();
    for (const { fact } of store.facts())
      if (fact.type === 'board-booted')
        boards.set(fact.board, {
          board: fact.board,
          carrier: bound.get(fact.board) ?? null,
          firmware: fact.firmware,
          boot: fact.boot,
          booted: inZone(fact.at, localZone()),
        });
    return [...boards.values()];
  });
}

interface CheckOptions extends EmulateOptions {
  readonly port?: string;
  readonly probes?: string;
  readonly seconds: string;
  readonly json?: true;
}

async function check(options: CheckOptions, context: Context): Promise<void> {
  const duration = whole('seconds', options.seconds, 30, 600);
  const expected = options.probes === undefined ? null : whole('probes', options.probes, 1, 16);
  const { selfTest } = await import('../carrier/selfTest.js');
  const listen = (session: BoardSession) => session.listen(seconds(duration));
  const { heard } = await onEither(options, context, `for ${duration} s`, listen);
  const rows = selfTest(heard, expected);
  const failed = rows.filter(({ passed }) => passed === false);
  if (options.json) context.io.out(JSON.stringify({ passed: failed.length === 0, rows }));
  else
    for (const line of textTable(
      rows.map(({ what, found, passed }) => [passed === null ? '-' : passed ? 'ok' : 'FAILED', what, found]),
    ))
      context.io.out(line);
  if (failed.length > 0)
    throw new CheckFailed(
      `The carrier failed ${failed.length} of ${rows.length} checks: ${failed.map(({ what }) => what).join(', ')}.`,
    );
}

interface SettingsOptions {
  readonly port: string;
  readonly withHost?: string;
  readonly alone?: string;
  readonly json?: true;
}

async function settings(options: SettingsOptions, context: Context): Promise<void> {
  const wanted = {
    withHost: options.withHost === undefined ? null : whole('with-host', options.withHost, 10, 25),
    alone: options.alone === undefined ? null : whole('alone', options.alone, 10, 25),
  };
  const { heard } = await onBoard(options.port, context, async (session) => {
    const before = await readBack(session);
    if (wanted.withHost === null && wanted.alone === null) return;
    const { result } = await session.ask({
      name: 'period',
      withHostSeconds: wanted.withHost ?? before,
      aloneSeconds:
        wanted.alone ?? session.heard.findLast((event) => event.kind === 'settings')!.periodAloneSeconds,
    });
    if (result !== 'done')
      throw new Refusal(`The board did not take the periods (${result}); nothing was changed.`);
    await readBack(session);
  });
  const said = heard.findLast((event) => event.kind === 'settings');
  if (said?.kind !== 'settings')
    throw new Refusal(`The board on ${options.port} did not say its settings; try again.`);
  const slots = heard
    .slice(heard.lastIndexOf(said))
    .flatMap((event) => (event.kind === 'slot-setting' ? [event] : []));
  const { periodWithHostSeconds, periodAloneSeconds } = said;
  if (options.json)
    return context.io.out(
      JSON.stringify({
        periodWithHostSeconds,
        periodAloneSeconds,
        slots: slots.map(({ slot, rom, cold, hot, due }) => ({ slot, rom, cold, hot, due })),
      }),
    );
  context.io.out(`scans every ${periodWithHostSeconds} s with a host, every ${periodAloneSeconds} s alone`);
  const limit = (sixteenths: number | null) => (sixteenths === null ? 'none' : `${sixteenths / 16} °C`);
  for (const { slot, rom, cold, hot, due } of slots)
    context.io.out(
      `slot ${slot}: ${rom}, cold below ${limit(cold)}, hot above ${limit(hot)}, ${due === null ? 'not due' : `due ${inZone(due, localZone())}`}`,
    );
}

/** Asks for the settings and gives the period with a host. */
async function readBack(session: BoardSession): Promise<number> {
  const { result } = await session.ask({ name: 'settings' });
  if (result !== 'done')
    throw new Refusal(`The board does not tell its settings (${result}); write a newer firmware.`);
  await session.listen(seconds(0.5));
  return (await session.until('settings', seconds(3)))?.periodWithHostSeconds ?? 10;
}

/** Holds a talk with the board on a port, or with an emulated one. */
async function onEither(
  options: EmulateOptions & { readonly port?: string },
  context: Context,
  howLong: string,
  talk: (session: BoardSession) => Promise<void>,
) {
  const { port, emulate, fault } = options;
  if ((port === undefined) === (emulate === undefined))
    throw new Refusal('Give either --port, or --emulate to try it without a board.');
  if (fault !== undefined && emulate === undefined)
    throw new Refusal('--fault is for --emulate; the faults of a wired carrier are its own.');
  if (port !== undefined) {
    context.io.err(`listening to ${port} ${howLong}`);
    return onBoard(port, context, talk);
  }
  const { source } = await emulatedCarrierOf(options, context);
  context.io.err(`listening to ${source.name} ${howLong} of its time`);
  return onSource(source, source.clock, source.name, talk);
}

/** Holds a talk with the board on a port, after it has said who it is. */
async function onBoard(port: string, { clock }: Context, talk: (session: BoardSession) => Promise<void>) {
  const { serialBoard } = await import('../carrier/serialBoard.js');
  return onSource(serialBoard(port, clock), clock, port, talk);
}

async function onSource(
  source: CarrierSource,
  clock: Clock,
  name: string,
  talk: (session: BoardSession) => Promise<void>,
) {
  const { boardSession, meetBoard } = await import('../carrier/boardSession.js');
  return boardSession(source, clock, async (session) => {
    const { board } = await meetBoard(session, name);
    await talk(session);
    return { board, heard: session.heard };
  });
}

function whole(name: string, text: string, min: number, max: number): number {
  const value = /^\d{1,4}$/.test(text) ? Number(text) : Number.NaN;
  if (!(value >= min && value <= max))
    throw new Refusal(`--${name} ${text} is not possible; write a whole number from ${min} to ${max}.`);
  return value;
}
