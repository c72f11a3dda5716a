import type { Command } from 'commander';
import wrapAnsi from 'wrap-ansi';
import type { BoardSession } from '../../carrier/boardSession.js';
import type { TestRow } from '../../carrier/selfTest.js';
import { kindOfFile } from '../../store/header.js';
import type { BoardId, RomId } from '../../units/ids.js';
import { seconds } from '../../units/time.js';
import { probeIn } from '../../visit/slots.js';
import { CheckFailed } from '../checkFailed.js';
import { type Context, nowIn, onStore, reading, type StoreOptions } from '../context.js';
import { textTable } from '../textTable.js';
import { type BoardOptions, onEither, PORT, whole } from './boardTalk.js';
import { withEmulate } from './emulatedCarrier.js';

const CHECK_SECONDS = 75;
const COLUMNS_MAX = 79;
/** Between the columns of a table. */
const GAP = 2;

interface CheckOptions extends BoardOptions, StoreOptions {
  readonly probes?: string;
  readonly seconds: string;
}

/** The command `carrier check`. */
export function defineCheck(carrier: Command, context: Context): void {
  withEmulate(onStore(carrier.command('check')).option(...PORT))
    .description(
      'listen to a wired carrier and test its probes, memory, clock and lines; exit 3 when one fails',
    )
    .option(
      '--probes <number>',
      'how many probes it should have (default: those that have a slot in the store)',
    )
    .option('--seconds <number>', 'how long to listen', `${CHECK_SECONDS}`)
    .action((options: CheckOptions, command: Command) => check(options, command, context));
}

async function check(options: CheckOptions, command: Command, context: Context): Promise<void> {
  const duration = whole('seconds', options.seconds, 30, 600);
  const expected = options.probes === undefined ? null : whole('probes', options.probes, 1, 16);
  const isNamed = command.getOptionValueSource('store') === 'cli';
  // A store that was named and cannot be read is refused before 75 s have gone by.
  if (isNamed && options.emulate === undefined) reading(options.store, () => {});
  const { selfTest } = await import('../../carrier/selfTest.js');
  const listen = (session: BoardSession) => session.listen(seconds(duration));
  const { board, heard, emulated } = await onEither(options, context, ` for ${duration} s`, listen);
  const slots =
    emulated === null
      ? slotsOnRecord(options.store, board, context)
      : new Map(emulated.slots.map(({ slot, rom }) => [rom, `${emulated.carrier}:${slot}`]));
  const rows = selfTest(heard, expected, slots);
  const failed = rows.filter(({ passed }) => passed === false);
  if (options.json) context.io.out(JSON.stringify({ passed: failed.length === 0, rows }));
  else for (const line of inLines(rows)) context.io.out(line);
  if (failed.length > 0)
    throw new CheckFailed(
      `The carrier failed ${failed.length} of ${rows.length} checks: ${failed.map(({ what, slot }) => slot ?? what).join(', ')}.`,
    );
}

/** Where the probes of a board's carrier sit by what is on record; empty when it is in no carrier, or there is no store. */
function slotsOnRecord(path: string, board: BoardId, context: Context): ReadonlyMap<RomId, string> {
  if (kindOfFile(path) !== 'store') return new Map();
  const now = nowIn(path, context);
  return reading(path, (_store, { carriers }) => {
    const found = [...carriers.values()].filter((carrier) => carrier.board === board);
    return new Map(
      found.flatMap((carrier) =>
        [...carrier.slots.keys()]
          .sort((a, b) => a - b)
          .flatMap((slot): [RomId, string][] => {
            const rom = probeIn(carrier, slot, now);
            return rom === null ? [] : [[rom, `${carrier.carrier}:${slot}`]];
          }),
      ),
    );
  });
}

/** The rows as a table; what is too long for a narrow terminal goes on in its column. */
function inLines(rows: readonly TestRow[]): string[] {
  const cells = rows.map(({ what, slot, found, passed }) => ({
    verdict: passed === null ? '-' : passed ? 'ok' : 'FAILED',
    what: slot === null ? what : `${slot} ${what}`,
    found,
  }));
  const taken = ['verdict', 'what'].map((key) =>
    Math.max(...cells.map((cell) => cell[key as 'verdict' | 'what'].length)),
  );
  const room = COLUMNS_MAX - taken.reduce((sum, width) => sum + width + GAP, 0);
  return textTable(
    cells.flatMap(({ verdict, what, found }) =>
      wrapAnsi(found, room)
        .split('\n')
        .map((part, index) => (index === 0 ? [verdict, what, part] : ['', '', part])),
    ),
  );
}
