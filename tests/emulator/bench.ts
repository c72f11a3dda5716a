import { firmwareImage } from '../../src/carrier/emulated/firmwareImage.js';
import { type BoardOptions, type BoardOutput, EmulatedBoard } from '../../src/emulator/board.js';
import type { ClockChip } from '../../src/emulator/clockChip.js';
import type { Fault } from '../../src/emulator/faults.js';
import { I2cBus, type I2cFault } from '../../src/emulator/i2cBus.js';
import { loadImage } from '../../src/emulator/image.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import type { ResponseTimes } from '../../src/emulator/oneWireTiming.js';
import type { UserBytes } from '../../src/emulator/scratchpad.js';
import type { SerialMemory } from '../../src/emulator/serialMemory.js';
import { Thermometer } from '../../src/emulator/thermometer.js';

/** The image that is committed. */
export const committedHex = firmwareImage;

/**
 * ROM ids whose CRC is right, of real parts and clones: "DS18B20 counterfeit" collections and the 1-Wire
 * literature as quoted in public test files; each CRC recomputed here when a Thermometer is made of it.
 */
export const ROMS = [
  '28-13-9B-BB-0B-00-00-1F',
  '28-CA-D6-10-10-00-00-FE',
  '28-AA-3C-61-55-14-01-F0',
  '28-FF-64-1D-CD-96-F2-01',
  '28-E4-FA-2F-57-23-0B-AF',
  '28-48-1B-77-91-17-02-55',
  '28-90-FE-79-97-00-03-20',
  '28-00-74-28-59-43-0F-7A',
  '28-3E-43-87-00-00-00-18',
] as const;
export const ROM_OF_DS18S20 = '10-B0-15-16-03-08-00-F1';

/** The CRC-8 of the 1-Wire bus written out a second time, bit by bit, for the benches. */
export function crc8OfBits(bytes: readonly number[]): number {
  let register = 0;
  for (const byte of bytes)
    for (let bit = 0; bit < 8; bit += 1) {
      const feedback = (register & 1) ^ ((byte >> bit) & 1);
      register >>= 1;
      if (feedback) register ^= 0b10001100;
    }
  return register;
}

/** Invented ROM ids of family 28h that differ from their first bits to their last. */
export function manyRoms(count: number): string[] {
  return Array.from({ length: count }, (_, index) => {
    const bytes = [
      0x28,
      (index * 73) & 0xff,
      index & 1 ? 0xff : 0x00,
      0x5a,
      index,
      (index * 31) & 0xff,
      0x00,
    ];
    return [...bytes, crc8OfBits(bytes)]
      .map((byte) => byte.toString(16).toUpperCase().padStart(2, '0'))
      .join('-');
  });
}

/** CRC-16/CCITT-FALSE, for the benches only: the host has its own. */
export function crc16(text: string): number {
  let crc = 0xffff;
  for (const char of text) {
    crc ^= char.charCodeAt(0) << 8;
    for (let bit = 0; bit < 8; bit += 1) crc = ((crc << 1) ^ (crc & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return crc;
}

export interface Line {
  readonly atMs: number;
  readonly text: string;
  readonly kind: string;
  readonly boot: number;
  readonly sequence: number;
  readonly boardMs: number;
  readonly fields: readonly string[];
  readonly crcIsRight: boolean;
}

const LINE = /^\$(([A-Z]),([0-9A-F]{4}),([0-9A-F]{4}),([0-9A-F]{8})(?:,([^*]*))?)\*([0-9A-F]{4})\r\n$/;

/** A line of the protocol with its CR LF, or null for anything else. */
export function parseLine(text: string, atMs: number): Line | null {
  const m = LINE.exec(text);
  if (m === null) return null;
  const [, body = '', kind = '', boot = '', sequence = '', boardMs = '', fields, crc = ''] = m;
  const number = (digits: string) => Number.parseInt(digits, 16);
  return {
    atMs,
    text,
    kind,
    boot: number(boot),
    sequence: number(sequence),
    boardMs: number(boardMs),
    fields: fields === undefined ? [] : fields.split(','),
    crcIsRight: crc16(body) === number(crc),
  };
}

export interface BenchProbe {
  readonly rom: string;
  readonly celsius?: number | ((ms: number) => number);
  readonly times?: ResponseTimes;
  readonly saved?: UserBytes;
}

export interface BenchOptions
  extends Partial<Omit<BoardOptions, 'image' | 'bus' | 'i2c' | 'onByte' | 'onOutput'>> {
  readonly hex?: string;
  readonly probes: readonly BenchProbe[];
  readonly faults?: readonly Fault[];
  readonly riseUs?: number;
  readonly memory?: SerialMemory;
  readonly clock?: ClockChip;
  readonly i2cFaults?: readonly I2cFault[];
  /** False: nobody says anything to the board unless the test does. */
  readonly hostListens?: boolean;
}

/** A command line as the host frames it. */
export function command(letter: string, sequence: number, ...fields: string[]): string {
  const body = [letter, hex(sequence, 2), ...fields].join(',');
  return `!${body}*${hex(crc16(body), 4)}\r\n`;
}

export const hex = (value: number, digits: number): string =>
  value.toString(16).toUpperCase().padStart(digits, '0');

/** A host that listens says so this often; it asks for no page, which changes nothing. */
const HOST_SPEAKS_FROM_MS = 300;
const HOST_SPEAKS_EVERY_MS = 5000;
const BYTE_MS = 10 / 38.4;

/** A board with its probes, and all it has said. */
export class Bench {
  readonly lines: Line[] = [];
  /** What ended in a newline and is not a line of the protocol. */
  readonly scraps: string[] = [];
  readonly bus: OneWireBus;
  readonly thermometers: readonly Thermometer[];
  readonly board: EmulatedBoard;
  readonly outputs: BoardOutput[] = [];
  readonly i2c: I2cBus;
  #text = '';
  #sequence = 0;
  #hostSpeaksAt: number;

  constructor({
    hex: imageText,
    probes,
    faults,
    riseUs,
    memory,
    clock,
    i2cFaults,
    hostListens,
    ...board
  }: BenchOptions) {
    this.#hostSpeaksAt = hostListens === false ? Number.POSITIVE_INFINITY : HOST_SPEAKS_FROM_MS;
    this.i2c = new I2cBus({
      chips: [memory, clock].filter((chip) => chip !== undefined),
      faults: i2cFaults ?? [],
    });
    this.thermometers = probes.map(({ rom, celsius = 20, times, saved }) => {
      const temperatureAt = typeof celsius === 'number' ? () => celsius : celsius;
      return new Thermometer({ rom, temperatureAt, ...(times && { times }), ...(saved && { saved }) });
    });
    this.bus = new OneWireBus({
      thermometers: this.thermometers,
      faults: faults ?? [],
      ...(riseUs !== undefined && { riseUs }),
    });
    this.board = new EmulatedBoard({
      ...board,
      image: loadImage(imageText ?? committedHex()),
      bus: this.bus,
      i2c: this.i2c,
      onOutput: (output) => this.outputs.push(output),
      onByte: (byte, atMs) => this.#take(byte, atMs),
    });
  }

  run(untilMs: number): this {
    while (this.#hostSpeaksAt < untilMs) {
      this.board.run(this.#hostSpeaksAt);
      this.#hostSpeaksAt += HOST_SPEAKS_EVERY_MS;
      this.hear(command('R', 0, '000001', '0000'));
    }
    this.board.run(untilMs);
    return this;
  }

  /** Bytes arrive at the board from now on, at the speed of the line. */
  hear(text: string): this {
    const fromMs = this.board.ms;
    for (const [index, char] of [...text].entries()) {
      this.board.run(fromMs + (index + 1) * BYTE_MS);
      this.board.receive(char.charCodeAt(0));
    }
    return this;
  }

  /** Says a command, waits for its answer for up to a second, and gives its result and values. */
  ask(letter: string, ...fields: string[]): string[] {
    this.#sequence = (this.#sequence + 1) % 256;
    const sequence = hex(this.#sequence, 2);
    const from = this.lines.length;
    this.hear(command(letter, this.#sequence, ...fields));
    for (let waited = 0; waited < 1000; waited += 50) {
      this.run(this.board.ms + 50);
      const answer = this.lines
        .slice(from)
        .find((line) => line.kind === 'A' && line.fields[0] === letter && line.fields[1] === sequence);
      if (answer) return answer.fields.slice(2);
    }
    return [];
  }

  of(kind: string): Line[] {
    return this.lines.filter((line) => line.kind === kind);
  }

  /** The probes that the board has announced: table number, then ROM by index. */
  tables(): { table: number; roms: Map<number, string> }[] {
    const tables: { table: number; roms: Map<number, string> }[] = [];
    for (const { fields } of this.of('P')) {
      const [table = '', , ...entries] = fields;
      const number = Number.parseInt(table, 16);
      let last = tables.at(-1);
      if (last?.table !== number) {
        last = { table: number, roms: new Map() };
        tables.push(last);
      }
      for (const entry of entries)
        last.roms.set(Number.parseInt(entry[0] ?? '', 16), (entry.slice(2).match(/../g) ?? []).join('-'));
    }
    return tables;
  }

  /** Each scan: status and raw sixteenths (null when none) by ROM, by the table of its number. */
  scans(): { scan: number; boardMs: number; of: Map<string, { status: string; raw: number | null }> }[] {
    const tables = new Map(this.tables().map(({ table, roms }) => [table, roms]));
    const scans = new Map<number, ReturnType<Bench['scans']>[number]>();
    for (const { fields, boardMs } of this.of('S')) {
      const [table = '', scan = '', ...entries] = fields;
      const roms = tables.get(Number.parseInt(table, 16));
      const number = Number.parseInt(scan, 16);
      const entry = scans.get(number) ?? { scan: number, boardMs, of: new Map() };
      scans.set(number, entry);
      for (const text of entries) {
        const rom = roms?.get(Number.parseInt(text[0] ?? '', 16)) ?? 'unknown';
        const raw = text.slice(2) === '----' ? null : (Number.parseInt(text.slice(2), 16) << 16) >> 16;
        entry.of.set(rom, { status: text[1] ?? '', raw });
      }
    }
    return [...scans.values()];
  }

  /** Statuses of one probe, scan by scan, as one word. */
  statuses(rom: string): string {
    return this.scans()
      .map(({ of }) => of.get(rom)?.status ?? '?')
      .join('');
  }

  #take(byte: number, atMs: number): void {
    this.#text += String.fromCharCode(byte);
    if (byte !== 0x0a) return;
    const line = parseLine(this.#text, atMs);
    if (line === null) this.scraps.push(this.#text);
    else this.lines.push(line);
    this.#text = '';
  }
}
