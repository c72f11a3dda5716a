import type { RomId } from '../../units/ids.js';
import { type BoardMs, type DurationMs, durationMs, seconds } from '../../units/time.js';
import { BY_THE_LOGGER, type ByteWire, byteWire } from '../byteWire.js';
import type { CarrierEvent } from '../events.js';
import { type FoundProbe, type HostBoard, type HostParts, hostBoard, type Value } from '../host/hostBoard.js';
import { readNineBytes } from '../host/nineBytes.js';
import { MARK, type RestartMarks, restartMarks } from '../host/restartMarks.js';
import { familyOf, isReadFamily } from '../host/thermometers.js';
import { backOff, openPort } from '../openPort.js';
import type { CarrierSource } from '../source.js';
import { type AnalogInput, type AnalogReader, analogReader } from './analogInputs.js';
import { analogRom } from './analogRom.js';
import { type FirmataLink, firmataLink } from './firmataLink.js';
import { type OneWireRequests, oneWireRequests } from './oneWireRequests.js';

/** What such boards speak at when nobody changed it. */
export const STOCK_BAUD_RATE = 57_600;
const PERIOD: DurationMs = seconds(10);
/** Longer than any 12-bit conversion; some clones cannot be asked whether they are done. */
const CONVERSION: DurationMs = seconds(1);
/** A board with a bus answers at each scan, one with analog inputs sends several times a second. */
const SILENCE_MAX: DurationMs = seconds(25);
const PROBES_MAX = 64;

export interface StockOptions extends HostParts {
  readonly path: string;
  readonly baudRate?: number;
  /** Pins with a 1-Wire bus. */
  readonly oneWirePins: readonly number[];
  readonly analog: readonly AnalogInput[];
  readonly period?: DurationMs;
  readonly open?: () => Promise<ByteWire>;
}

/**
 * A board with the stock Firmata program, over johnny-five and firmata-io: thermometers on its 1-Wire buses, nine bytes
 * each, and probes on its analog inputs. It has neither memory nor clock nor id: the port's name tells it apart, and
 * every opening and every restart is an epoch of its own.
 */
export function stockBoard(options: StockOptions): CarrierSource {
  const { clock, path } = options;
  const open =
    options.open ?? (async () => byteWire(await openPort(path, options.baudRate ?? STOCK_BAUD_RATE)));
  let opened: ByteWire | null = null;
  return {
    name: path,
    async open() {
      opened = await open();
    },
    async run(onEvent: (event: CarrierEvent) => void, signal: AbortSignal) {
      let firmware = 'unknown';
      const host = hostBoard(options, ['stock', path], () => firmware, onEvent);
      let wire = opened ?? (await open());
      for (let failures = 0; !signal.aborted; ) {
        host.link('open', `${path} is open`);
        const { why, wasReady } = await attendTo({ ...options, host, signal, wire }, (name) => {
          firmware = name;
        });
        host.link('closed', `${path}: ${why}`);
        failures = wasReady ? 0 : failures + 1;
        for (; !signal.aborted; failures += 1) {
          await clock.sleep(backOff(failures), signal);
          if (signal.aborted) return;
          const again = await open().catch(() => null);
          if (again === null) continue;
          wire = again;
          break;
        }
      }
    },
    // It hears no commands of ours.
    write() {},
  };
}

interface Attending extends StockOptions {
  readonly host: HostBoard;
  readonly signal: AbortSignal;
  readonly wire: ByteWire;
}

/** Reads a board until its wire is closed, for the reason that it gives. */
async function attendTo(
  on: Attending,
  onFirmware: (name: string) => void,
): Promise<{ readonly why: string; readonly wasReady: boolean }> {
  const { wire, clock, signal } = on;
  const gone = new AbortController();
  let why = '';
  wire.onClosed((reason) => {
    why = reason;
    gone.abort();
  });
  const stopped = () => wire.close(BY_THE_LOGGER);
  signal.addEventListener('abort', stopped, { once: true });
  if (signal.aborted) stopped();
  const link = await firmataLink(wire, clock, gone.signal);
  if (link !== null) {
    onFirmware(firmwareOf(link));
    try {
      await readUntilGone(on, link, gone.signal);
    } catch (error) {
      // Of the libraries: one odd board must not end the logging of all.
      wire.close(`cannot be read (${(error as Error).message})`);
    }
    link.release();
  }
  // Closing takes a moment.
  while (!gone.signal.aborted) await clock.sleep(seconds(0.1), gone.signal);
  signal.removeEventListener('abort', stopped);
  return { why, wasReady: link !== null };
}

/** Name and version of the board's program, as one word. */
function firmwareOf({ io }: FirmataLink): string {
  const { name, version } = io.firmware;
  const plain = (name ?? '').replace(/\.ino$/, '').replace(/[^A-Za-z0-9._-]/g, '');
  return [plain || 'Firmata', ...(version ? [`${version.major}.${version.minor}`] : [])]
    .join('-')
    .slice(0, 60);
}

interface Reading extends Attending {
  readonly link: FirmataLink;
  readonly gone: AbortSignal;
  readonly bus: OneWireRequests;
  readonly analogReader: AnalogReader;
  readonly said: Set<string>;
}

async function readUntilGone(attending: Attending, link: FirmataLink, gone: AbortSignal): Promise<void> {
  const { clock, host, wire, period = PERIOD } = attending;
  const on: Reading = {
    ...attending,
    link,
    gone,
    bus: oneWireRequests(link.io, clock, gone),
    analogReader: analogReader(link, attending.analog, clock),
    said: new Set(),
  };
  let epoch = begin(on);
  while (!gone.aborted) {
    const began = clock.monotonic();
    if (link.hasRestarted()) {
      host.link('note', 'the board has restarted');
      epoch = begin(on);
    }
    await scan(on, epoch);
    if (clock.monotonic() - link.lastByte() > SILENCE_MAX)
      wire.close('no data for 25 seconds; opening it again');
    for (const end = began + period; !gone.aborted && clock.monotonic() < end; ) {
      if (link.wasRestarted()) break;
      await clock.sleep(durationMs(Math.min(1000, end - clock.monotonic())), gone);
    }
  }
}

/** What is known of the probes of one boot. */
interface Epoch {
  readonly marks: RestartMarks;
  /** Which pin each probe is on. */
  readonly pins: Map<RomId, number>;
}

/** Begins a boot: the board has forgotten what it was told. */
function begin(on: Reading): Epoch {
  const { host, link, analogReader } = on;
  host.begin();
  for (const pin of usablePins(on)) link.io.sendOneWireConfig(pin, false);
  analogReader.setUp();
  for (const { channel } of on.analog.filter((input) => !analogReader.has(input)))
    note(on, `the board has no analog input A${channel}; left out`);
  return { marks: restartMarks(), pins: new Map() };
}

function usablePins(on: Reading): number[] {
  const { io } = on.link;
  return on.oneWirePins.filter((pin) => {
    const can = io.pins[pin]?.supportedModes.includes(io.MODES.ONEWIRE) ?? false;
    if (!can)
      note(
        on,
        `the board's program cannot read 1-Wire on pin ${pin}; write ConfigurableFirmata with its OneWire part`,
      );
    return can;
  });
}

async function scan(on: Reading, { marks, pins }: Epoch): Promise<void> {
  const { host, bus, clock, gone, link } = on;
  const isOver = () => gone.aborted || link.wasRestarted();
  host.beat();
  for (const pin of usablePins(on)) {
    const found = await bus.search(pin);
    if (found === null) {
      note(on, `the board did not answer a search on pin ${pin}`);
      continue;
    }
    if (found.damaged > 0) host.discard('bad-rom', found.damaged * 8);
    for (const rom of found.roms) {
      if (!isReadFamily(familyOf(rom))) note(on, `${rom} is of a family that is not read here; left out`);
      else if (pins.has(rom) || pins.size < PROBES_MAX) pins.set(rom, pin);
      else note(on, `more than ${PROBES_MAX} probes: the others are left out`);
    }
  }
  if (isOver()) return;
  const inputs = on.analog.filter((input) => on.analogReader.has(input));
  const analog = inputs.map((input) => ({ rom: analogRom(host.board, input.channel), input }));
  host.probes([
    ...[...pins.keys()].map((rom): FoundProbe => ({ rom })),
    ...analog.map(({ rom, input }) => ({ rom, uncertainty: input.uncertainty(on.analogReader.bits) })),
  ]);
  host.nextScan();

  for (const [rom, pin] of pins) if (marks.isDue(rom)) writeMark(on, marks, rom, pin);
  const began = host.now();
  for (const pin of new Set(pins.values())) bus.convert(pin);
  if (pins.size > 0) await clock.sleep(CONVERSION, gone);
  const values: Value[] = [];
  for (const [rom, pin] of pins) {
    if (isOver()) return;
    values.push(await readProbe(on, marks, rom, pin));
  }
  // A restart in the midst of it: nobody knows what these were.
  if (isOver()) return;
  host.scan(began, values);
  const now: BoardMs = host.now();
  host.scan(
    now,
    analog.map(({ rom, input }) => ({ rom, ...on.analogReader.read(input) })),
  );
}

function writeMark({ bus }: Reading, marks: RestartMarks, rom: RomId, pin: number): void {
  bus.writeMark(pin, rom, MARK);
  marks.wrote(rom, true);
}

async function readProbe({ bus }: Reading, marks: RestartMarks, rom: RomId, pin: number): Promise<Value> {
  const bytes = await bus.scratchpad(pin, rom);
  if (bytes === null) return { rom, raw: null, status: 'missing' };
  const reading = readNineBytes(familyOf(rom), bytes, marks.expected(rom));
  if (reading.raw !== null) marks.read(rom, bytes);
  // Its settings are gone, or were never taken: they are written again before the next conversion.
  if (['restarted', 'not-converted', 'bad-configuration'].includes(reading.status)) marks.lost(rom);
  return { rom, ...reading };
}

/** Says a sentence once for as long as the board is connected. */
function note(on: Reading, sentence: string): void {
  if (on.said.has(sentence)) return;
  on.said.add(sentence);
  on.host.link('note', sentence);
}
