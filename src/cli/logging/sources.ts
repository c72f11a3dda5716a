import { readFileSync } from 'node:fs';
import type { Command } from 'commander';
import { z } from 'zod';
import type { HostParts } from '../../carrier/host/hostBoard.js';
import type { CarrierSource } from '../../carrier/source.js';
import type { LoggedSource } from '../../logger/logger.js';
import { carrierId } from '../../store/factFields.js';
import { type CarrierId, parseCarrierId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { refuseIrregular } from '../../units/regularFile.js';
import { several, typed } from '../context.js';
import { analogInput, analogSchema } from './analogSettings.js';

export interface SourceOptions {
  readonly port?: readonly string[];
  readonly oneWire?: readonly string[];
  readonly stock?: readonly string[];
  readonly sources?: string;
}

export const PORT_OPTION = [
  '--port <port[=carrier]>',
  "a board's serial port, and the carrier it is built into; may be given several times",
  several,
] as const;

/** Adds the options that say where readings come from. */
export const withSources = (command: Command): Command =>
  command
    .option(...PORT_OPTION)
    .option(
      '--one-wire <folder[=carrier]>',
      "thermometers on this Linux computer's own 1-Wire buses: /sys/bus/w1/devices",
      several,
    )
    .option(
      '--stock <port[=carrier]>',
      'a board with the stock Firmata program, thermometers on its pin 2',
      several,
    )
    .option('--sources <file>', 'a file that names sources, one a line (docs/sources.md)');

/** The same choice as arguments of another process. */
export const sourceArgs = ({ port = [], oneWire = [], stock = [], sources }: SourceOptions): string[] => [
  ...port.flatMap((each) => ['--port', each]),
  ...oneWire.flatMap((each) => ['--one-wire', each]),
  ...stock.flatMap((each) => ['--stock', each]),
  ...(sources === undefined ? [] : ['--sources', sources]),
];

/** Whether any source was named. */
export const namesSource = ({ port, oneWire, stock, sources }: SourceOptions): boolean =>
  (port ?? oneWire ?? stock ?? sources) !== undefined;

/** Where thermometers are by default on a stock board. */
const ONE_WIRE_PIN = 2;
const PIN_MAX = 127;
const BAUD_MAX = 4_000_000;
const place = z.string().min(1);
const carrier = carrierId.nullable().default(null);
const sourceSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('board'), port: place, carrier }),
  z.strictObject({ kind: z.literal('one-wire'), folder: place, carrier }),
  z.strictObject({
    kind: z.literal('stock'),
    port: place,
    carrier,
    baudRate: z.int().min(300).max(BAUD_MAX).optional(),
    oneWirePins: z.array(z.int().min(0).max(PIN_MAX)).default([ONE_WIRE_PIN]),
    analog: z.array(analogSchema).default([]),
  }),
]);
const fileSchema = z.strictObject({ sources: z.array(sourceSchema).min(1) });
/** Where one stream of readings comes from. */
export type SourceLine = z.infer<typeof sourceSchema>;

/**
 * What the options say, in their order: ports, 1-Wire folders, stock boards, the file's lines.
 *
 * @throws {Refusal} when the file cannot be used, or a place or a carrier is named twice
 */
export function sourceLines(options: SourceOptions): SourceLine[] {
  const lines: SourceLine[] = [
    ...(options.port ?? []).map((text): SourceLine => {
      const { path, carrier } = pathAndCarrier(text);
      return { kind: 'board', port: path, carrier };
    }),
    ...(options.oneWire ?? []).map((text): SourceLine => {
      const { path, carrier } = pathAndCarrier(text);
      return { kind: 'one-wire', folder: path, carrier };
    }),
    ...(options.stock ?? []).map((text): SourceLine => {
      const { path, carrier } = pathAndCarrier(text);
      return { kind: 'stock', port: path, carrier, oneWirePins: [ONE_WIRE_PIN], analog: [] };
    }),
    ...(options.sources === undefined ? [] : linesOfFile(options.sources)),
  ];
  refuseTwice(lines.map(placeOf), 'named twice as a source; name it once');
  refuseTwice(
    lines.flatMap((line) => (line.carrier === null ? [] : [`carrier ${line.carrier}`])),
    'given to two sources; one carrier has one board',
  );
  return lines;
}

const placeOf = (line: SourceLine): string => (line.kind === 'one-wire' ? line.folder : line.port);

function refuseTwice(names: readonly string[], why: string): void {
  const twice = names.find((name, index) => names.indexOf(name) < index);
  if (twice !== undefined) throw new Refusal(`${twice} is ${why}.`);
}

function linesOfFile(path: string): SourceLine[] {
  refuseIrregular(path, 'docs/sources.md shows one', 'The file of sources ');
  let json: unknown;
  try {
    json = JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    const why = error instanceof SyntaxError ? `is not JSON (${error.message})` : 'cannot be read';
    throw new Refusal(`The file of sources ${path} ${why}; docs/sources.md shows one.`);
  }
  const checked = fileSchema.safeParse(json);
  if (checked.success) return checked.data.sources;
  const { path: where, message } = checked.error.issues[0]!;
  throw new Refusal(
    `${path}: ${where.length > 0 ? where.join('.') : 'the whole'}: ${message}; docs/sources.md shows what a line may hold.`,
  );
}

/** Makes the sources and opens each for the first time. @throws {Refusal} when one cannot be reached */
export async function openSources(lines: readonly SourceLine[], parts: HostParts): Promise<LoggedSource[]> {
  const sources: LoggedSource[] = [];
  for (const line of lines) sources.push({ source: await sourceOf(line, parts), carrier: line.carrier });
  for (const { source } of sources) await source.open();
  return sources;
}

/** Each kind is loaded only when it is asked for. */
async function sourceOf(line: SourceLine, parts: HostParts): Promise<CarrierSource> {
  switch (line.kind) {
    case 'board': {
      const { serialBoard } = await import('../../carrier/serialBoard.js');
      return serialBoard(line.port, parts.clock);
    }
    case 'one-wire': {
      const { linuxOneWire } = await import('../../carrier/oneWire/linuxOneWire.js');
      return linuxOneWire({ ...parts, folder: line.folder });
    }
    case 'stock': {
      const { stockBoard } = await import('../../carrier/stock/stockBoard.js');
      const { port, baudRate, oneWirePins } = line;
      const analog = line.analog.map(analogInput);
      return stockBoard({
        ...parts,
        path: port,
        oneWirePins,
        analog,
        ...(baudRate === undefined ? {} : { baudRate }),
      });
    }
  }
}

/** Reads `PATH=CARRIER` or `PATH`. */
export function pathAndCarrier(text: string): { path: string; carrier: CarrierId | null } {
  const at = text.lastIndexOf('=');
  if (at < 0) return { path: text, carrier: null };
  return { path: text.slice(0, at), carrier: typed(parseCarrierId, 'carrier name', text.slice(at + 1)) };
}
