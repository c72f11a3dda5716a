import { type Command, Option } from 'commander';
import { csvEncoder, PLAIN, SPREADSHEET } from '../export/csv.js';
import type { Encoder } from '../export/encoder.js';
import { type Exported, exportSeries, type Standing } from '../export/exportSeries.js';
import { linesEncoder } from '../export/lines.js';
import { leftovers, newFile, type Write } from '../export/newFile.js';
import { parquetEncoder } from '../export/parquet.js';
import type { Selection } from '../export/rows.js';
import { isAlive } from '../logger/presence.js';
import { carrierAndStore } from '../store/chains.js';
import { openStoreToRead, type Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { type CarrierId, parseCarrierId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant, MS_PER_SECOND, parseInstant, type UtcMs, utcMs } from '../units/time.js';
import { type Season, seasonOf } from '../visit/season.js';
import type { SlotOf } from '../visit/stretches.js';
import { CheckFailed } from './checkFailed.js';
import { type Context, nowIn, onStore, type StoreOptions, several, typed, typedSlot } from './context.js';
import type { Io } from './io.js';
import { liveLines } from './liveLines.js';
import { typedProbe } from './probe/probeNames.js';
import { stopSignal } from './stopSignal.js';
import { WrongCommandLine } from './wrongCommandLine.js';

const FORMATS = ['csv', 'spreadsheet', 'parquet', 'lines'] as const;
type Format = (typeof FORMATS)[number];

interface ExportOptions extends StoreOptions {
  readonly from?: string;
  readonly to?: string;
  readonly carrier?: readonly string[];
  readonly slot?: readonly string[];
  readonly probe?: readonly string[];
  readonly format: Format;
  readonly out?: string;
}

/** The command `export`: readings as they were recorded, in a format that others read. */
export function define(command: Command, context: Context): void {
  onStore(command)
    .option('--from <time>', 'the first instant, RFC 3339 with an offset (default: the first reading)')
    .option('--to <time>', 'the last instant, itself included (default: the last reading)')
    .option('--carrier <carrier>', 'only probes while they sat in this carrier; may be repeated', several)
    .option('--slot <slot>', 'only what sat in CARRIER:SLOT; may be repeated', several)
    .option('--probe <probe>', 'only this ROM id, or the probe now in CARRIER:SLOT; may be repeated', several)
    .addOption(
      new Option(
        '--format <format>',
        'csv; spreadsheet (CSV with semicolons, decimal commas and a mark for UTF-8); parquet; lines (line protocol)',
      )
        .choices(FORMATS)
        .default('csv'),
    )
    .option('--out <file>', 'the file to make; none is overwritten (default: standard output)')
    .action((options: ExportOptions) => exportReadings(options, context));
}

async function exportReadings(options: ExportOptions, context: Context): Promise<void> {
  const { io, clock } = context;
  const { out, json, format } = options;
  if (out === undefined && format === 'parquet')
    throw new WrongCommandLine('Parquet goes into a file; name it with --out.');
  if (out === undefined && json)
    throw new WrongCommandLine('--json tells what was exported; name a file for the readings with --out.');
  const now = nowIn(options.store, context);
  const stopping = stopSignal();
  const store = openStoreToRead(options.store);
  try {
    const season = seasonOf(store);
    const selection = selectionOf(options, season, now);
    const encoder = encoderOf(format, store, selection);
    const bar = progressBar(io, clock, out !== undefined && json !== true && process.stderr.isTTY === true);
    const write = (to: Write) =>
      exportSeries(store, season, selection, encoder, to, stopping.signal, bar.show);
    if (out !== undefined)
      for (const left of leftovers(out, isAlive))
        io.err(`${left} was left by an export that was killed; nothing needs it, remove it.`);
    const exported = await (out === undefined
      ? write(printed(io, stopping.stop))
      : newFile(out, process.pid, write));
    bar.end();
    report(exported, options, io);
  } finally {
    store.close();
    stopping.done();
  }
}

/** Prints pieces of text; asks to stop when nobody reads them any more. */
const printed =
  (io: Io, stop: () => void): Write =>
  async (piece) => {
    io.out(Buffer.from(piece).toString('utf8'));
    if (io.outTaken !== undefined && !(await io.outTaken())) stop();
  };

function encoderOf(format: Format, store: Store, { from, to }: Selection): Encoder {
  switch (format) {
    case 'csv':
      return csvEncoder(PLAIN);
    case 'spreadsheet':
      return csvEncoder(SPREADSHEET);
    case 'lines':
      return linesEncoder();
    case 'parquet': {
      const { count, hash } = store.head();
      const span = (at: UtcMs) => (Math.abs(at) < FOR_EVER ? formatInstant(at) : '');
      return parquetEncoder({
        'stillwarm.store': store.storeId(),
        'stillwarm.facts': String(count),
        'stillwarm.head': hash,
        'stillwarm.from': span(from),
        'stillwarm.to': span(to),
      });
    }
  }
}

/** Further from 1970 than any time that can be written, milliseconds. */
const FOR_EVER = 8_640_000_000_000_000;

function selectionOf(options: ExportOptions, season: Season, now: UtcMs): Selection {
  const from = typedInstant('from', options.from) ?? utcMs(-FOR_EVER);
  const to = typedInstant('to', options.to) ?? utcMs(FOR_EVER);
  if (from > to)
    throw new Refusal(`--from ${options.from} is later than --to ${options.to}; change them about.`);
  // By the name painted on it: vehicles whose readings were gathered may have one of the same name.
  const painted = ({ carrier }: Pick<SlotOf, 'carrier'>) => carrierAndStore(carrier).carrier;
  const known = new Set([...season.carriers.values()].map(painted));
  const inStore = (carrier: CarrierId) => {
    if (!known.has(carrier))
      throw new Refusal(
        `There is no carrier ${carrier} in this store; it has ${[...known].join(', ') || 'none yet'}.`,
      );
    return carrier;
  };
  const carriers = options.carrier?.map((text) => inStore(typed(parseCarrierId, 'carrier', text)));
  const slots = options.slot?.map((text) => {
    const place = typedSlot(text);
    inStore(place.carrier);
    return place;
  });
  const isWanted = (place: SlotOf) =>
    carriers?.some((each) => each === painted(place)) === true ||
    slots?.some(({ carrier, slot }) => carrier === painted(place) && slot === place.slot) === true;
  const probes = options.probe?.map((text) => typedProbe(text, season, now));
  return {
    from,
    to,
    isWanted: carriers === undefined && slots === undefined ? null : isWanted,
    probes: probes === undefined ? null : [...new Set(probes)].sort(),
  };
}

function typedInstant(name: string, text: string | undefined): UtcMs | null {
  if (text === undefined) return null;
  const at = parseInstant(text);
  if (at === null)
    throw new Refusal(`--${name} ${text} is not a time with its offset; write it like 2026-05-01T06:30:00Z.`);
  return at;
}

const BAR_CELLS = 40;
const BAR_EVERY_MS = MS_PER_SECOND / 5;

/** A bar that is drawn anew in its place, on a terminal only. */
function progressBar(io: Io, clock: Clock, isShown: boolean) {
  const live = liveLines(io, isShown, true);
  let drawn = Number.NEGATIVE_INFINITY;
  const draw = ({ done, rows }: Standing) => {
    const full = Math.round(done * BAR_CELLS);
    const bar = '#'.repeat(full) + '.'.repeat(BAR_CELLS - full);
    live.show(clock.utc(), [`[${bar}] ${Math.floor(done * 100)} %  ${rows} readings`], '');
  };
  let last: Standing | null = null;
  return {
    show(standing: Standing) {
      last = standing;
      const now = clock.monotonic();
      if (!isShown || now - drawn < BAR_EVERY_MS) return;
      drawn = now;
      draw(standing);
    },
    end() {
      if (isShown && last !== null) draw(last);
    },
  };
}

function report(exported: Exported, { out, json, format }: ExportOptions, io: Io): void {
  const { rows, probes, span, unused, gaps, unreadableBlocks } = exported;
  if (json)
    io.out(
      JSON.stringify({
        file: out,
        format,
        rows,
        probes,
        from: formatInstant(span!.from),
        to: formatInstant(span!.to),
        unused,
        gaps,
        unreadableBlocks,
      }),
    );
  else {
    const say = out === undefined ? io.err : io.out;
    say(
      `${out ?? 'exported'}: ${rows} readings of ${probes} ${probes === 1 ? 'probe' : 'probes'}, ${formatInstant(span!.from)} to ${formatInstant(span!.to)}; ${unused} not for ruling, ${gaps} ${gaps === 1 ? 'gap' : 'gaps'}`,
    );
  }
  if (format === 'spreadsheet' && rows >= SPREADSHEET_ROWS_MAX)
    io.err(`Most spreadsheets show only the first ${SPREADSHEET_ROWS_MAX} rows; export shorter spans.`);
  if (unreadableBlocks > 0)
    throw new CheckFailed(
      `${unreadableBlocks === 1 ? '1 sealed hour of a probe is' : `${unreadableBlocks} sealed hours of probes are`} damaged and missing from what was exported; checkup names what is.`,
    );
}

/** Rows of a sheet, the header among them, in the usual programs (common practice, no source). */
const SPREADSHEET_ROWS_MAX = 1_048_576;
