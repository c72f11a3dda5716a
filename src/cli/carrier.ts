import type { Command } from 'commander';
import { presentPorts } from '../carrier/presentPorts.js';
import { boardId } from '../store/factFields.js';
import { kindOfFile } from '../store/header.js';
import { parseCarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { inZone, localZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import { type BoardOptions, onEither, PORT, refuseStrayFault } from './carrier/boardTalk.js';
import { defineCheck } from './carrier/carrierCheck.js';
import { defineSettings } from './carrier/carrierSettings.js';
import { defineShow } from './carrier/carrierShow.js';
import { withEmulate } from './carrier/emulatedCarrier.js';
import { flash } from './carrier/flash.js';
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
import { textTable } from './textTable.js';
import { byOption, whoDoes } from './whoDoes.js';
import { WrongCommandLine } from './wrongCommandLine.js';

type PairOptions = StoreOptions & BoardOptions & { readonly by?: string };

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
          ...(boot === null ? ['not heard yet', ''] : [`firmware ${firmware}`, `boot ${boot} at ${booted}`]),
        ]),
        ...ports.map((port) => [`port ${port}`]),
      ];
      for (const line of textTable(rows)) io.out(line);
      if (rows.length === 0) io.out('no boards on record, and no serial port');
    });

  defineShow(carrier, context);

  withEmulate(onStore(carrier.command('pair <carrier> [board]')).option(...PORT))
    .description('say which board is built into a carrier, by its id or by its port')
    .option(...byOption('who says so'))
    .action(async (name: string, text: string | undefined, options: PairOptions, command: Command) => {
      const who = whoDoes(options);
      const id = typed(parseCarrierId, 'carrier name', name);
      if ([text, options.port, options.emulate].filter((each) => each !== undefined).length !== 1)
        throw new WrongCommandLine(
          'Give the id of a board (carrier list), or --port, or --emulate to try it without a board.',
        );
      refuseStrayFault(options);
      if (options.emulate && command.getOptionValueSource('store') !== 'cli')
        throw new WrongCommandLine(
          'Name a store of its own with --store: an emulated board must not mix with real ones.',
        );
      const board = boardId.safeParse(text ?? (await onEither(options, context, '', async () => {})).board);
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

  defineCheck(carrier, context);

  defineSettings(carrier, context);

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
      {
        board: string;
        carrier: string | null;
        firmware: string | null;
        boot: number | null;
        booted: string | null;
      }
    >();
    for (const { carrier, board } of season.carriers.values())
      if (board !== null) boards.set(board, { board, carrier, firmware: null, boot: null, booted: null });
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
