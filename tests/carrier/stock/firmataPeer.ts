import type { Clock } from '../../../src/units/clock.js';
import { crc8, type RomId } from '../../../src/units/ids.js';
import { durationMs } from '../../../src/units/time.js';
import { ds18b20, POWER_UP } from '../host/scratchpads.js';

/**
 * The other end of the wire: a board that speaks the bytes of the published Firmata protocol, version 2.5 with its
 * OneWire part (firmata/protocol: protocol.md, onewire.md). Written from those texts; it shares no code with the host.
 */
const [START_SYSEX, END_SYSEX, VERSION, SYSTEM_RESET] = [0xf0, 0xf7, 0xf9, 0xff];
const [SET_PIN_MODE, REPORT_ANALOG, ANALOG] = [0xf4, 0xc0, 0xe0];
const [FIRMWARE, CAPABILITY_QUERY, CAPABILITY_REPLY, MAPPING_QUERY, MAPPING_REPLY, SAMPLING] = [
  0x79, 0x6b, 0x6c, 0x69, 0x6a, 0x7a,
];
const ONEWIRE = 0x73;
const [SEARCH, SEARCH_REPLY, CONFIG, READ_REPLY] = [0x40, 0x42, 0x41, 0x43];
const ANALOG_MODE = 0x02;
const ONEWIRE_MODE = 0x07;
const PINS = 20;
const FIRST_ANALOG = 14;
/** Of a thermometer: 12 bit takes at most 750 ms (DS18B20 datasheet). */
const CONVERSION_MS = 750;

export interface PeerProbe {
  readonly rom: RomId;
  /** In sixteenths of a degree. */
  temperature: () => number;
}
interface Slave extends PeerProbe {
  ram: readonly number[];
  th: number;
  tl: number;
  configuration: number;
  convertedAt: number | null;
  pending: number;
}

export interface PeerOptions {
  readonly clock: Clock;
  readonly send: (bytes: Uint8Array) => void;
  readonly name?: string;
  readonly hasOneWire?: boolean;
  readonly bits?: number;
  readonly probes?: readonly PeerProbe[];
  readonly analog?: Readonly<Record<number, () => number>>;
}

export class FirmataPeer {
  readonly #options: PeerOptions;
  #message: number[] = [];
  #slaves: Slave[] = [];
  #configured = new Set<number>();
  #reporting = new Set<number>();
  #stopSampling: () => void = () => {};
  readonly seen: string[] = [];
  /** Replies of the bus that get lost, those to come. */
  loseReplies = 0;
  /** A reply that is held back and sent when the next one is asked for. */
  delayReply = false;
  #held: Uint8Array | null = null;
  /** Takes bytes and answers nothing. */
  isDeaf = false;
  /** Changes a reply's nine bytes. */
  garble: (bytes: number[], rom: RomId) => number[] = (bytes) => bytes;
  /** Ids that a search reports besides those that are there. */
  ghosts: number[][] = [];

  constructor(options: PeerOptions) {
    this.#options = options;
    for (const probe of options.probes ?? []) this.plugIn(probe);
  }

  plugIn(probe: PeerProbe): void {
    this.#slaves.push({
      ...probe,
      ram: POWER_UP,
      th: POWER_UP[2]!,
      tl: POWER_UP[3]!,
      configuration: POWER_UP[4]!,
      convertedAt: null,
      pending: 0,
    });
  }
  pullOut(rom: RomId): void {
    this.#slaves = this.#slaves.filter((slave) => slave.rom !== rom);
  }
  /** A probe's supply is interrupted: it wakes with what its EEPROM holds, and these temperature bytes. */
  restartProbe(rom: RomId, bytes: readonly number[] = POWER_UP): void {
    const slave = this.#slaves.find((each) => each.rom === rom)!;
    Object.assign(slave, { ram: bytes, th: 0x4b, tl: 0x46, configuration: 0x7f, convertedAt: null });
  }

  /** Power-on or the reset button: everything that was set is forgotten, then version and firmware are told. */
  boot(): void {
    this.#configured = new Set();
    this.#reporting = new Set();
    this.#stopSampling();
    this.#message = [];
    this.#send([VERSION, 2, 5]);
    this.#sendFirmware();
  }
  off(): void {
    this.isDeaf = true;
    this.#stopSampling();
  }

  receive(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (byte >= 0x80 && byte !== END_SYSEX) this.#message = [];
      this.#message.push(byte);
      if (this.isDeaf) continue;
      if (this.#isWhole()) {
        const message = this.#message;
        this.#message = [];
        this.#hear(message);
      }
    }
  }
  #isWhole(): boolean {
    const [first = 0] = this.#message;
    if (first === START_SYSEX) return this.#message.at(-1) === END_SYSEX;
    if (first === VERSION || first === SYSTEM_RESET) return true;
    const length = first === SET_PIN_MODE ? 3 : (first & 0xf0) === REPORT_ANALOG ? 2 : 3;
    return this.#message.length >= length;
  }

  #hear(message: readonly number[]): void {
    const [first = 0] = message;
    if (first === VERSION) this.#send([VERSION, 2, 5]);
    else if (first === SET_PIN_MODE) this.seen.push(`mode ${message[1]} ${message[2]}`);
    else if ((first & 0xf0) === REPORT_ANALOG) this.#report(first & 0x0f, message[1] === 1);
    else if (first === START_SYSEX) this.#hearSysex(message.slice(1, -1));
  }
  #hearSysex([id, ...payload]: readonly number[]): void {
    if (id === FIRMWARE) this.#sendFirmware();
    if (id === CAPABILITY_QUERY)
      this.#send([START_SYSEX, CAPABILITY_REPLY, ...this.#capabilities(), END_SYSEX]);
    if (id === MAPPING_QUERY) {
      const channels = Array.from({ length: PINS }, (_, pin) =>
        pin < FIRST_ANALOG ? 127 : pin - FIRST_ANALOG,
      );
      this.#send([START_SYSEX, MAPPING_REPLY, ...channels, END_SYSEX]);
    }
    if (id === SAMPLING) this.#sample(payload[0]! | (payload[1]! << 7));
    if (id === ONEWIRE) this.#oneWire(payload);
  }
  #capabilities(): number[] {
    const { hasOneWire = true, bits = 10 } = this.#options;
    return Array.from({ length: PINS }, (_, pin) => [
      ...[0x00, 1, 0x01, 1],
      ...(pin >= FIRST_ANALOG ? [ANALOG_MODE, bits] : []),
      ...(hasOneWire && pin >= 2 && pin < FIRST_ANALOG ? [ONEWIRE_MODE, 1] : []),
      0x7f,
    ]).flat();
  }
  #sendFirmware(): void {
    const name = [...(this.#options.name ?? 'ConfigurableFirmata.ino')].flatMap((char) => {
      const code = char.charCodeAt(0);
      return [code & 0x7f, code >> 7];
    });
    this.#send([START_SYSEX, FIRMWARE, 2, 10, ...name, END_SYSEX]);
  }

  #report(channel: number, isOn: boolean): void {
    this.seen.push(`report ${channel} ${isOn}`);
    if (isOn) this.#reporting.add(channel);
    else this.#reporting.delete(channel);
    if (isOn) this.#sendAnalog(channel);
  }
  #sample(ms: number): void {
    this.seen.push(`sampling ${ms}`);
    this.#stopSampling();
    this.#stopSampling = this.#options.clock.every(durationMs(ms), () => {
      for (const channel of this.#reporting) this.#sendAnalog(channel);
    });
  }
  #sendAnalog(channel: number): void {
    const count = this.#options.analog?.[channel]?.();
    if (count !== undefined && !this.isDeaf) this.#send([ANALOG | channel, count & 0x7f, count >> 7]);
  }

  #oneWire([command = 0, pin = 0, ...packed]: readonly number[]): void {
    if (command === CONFIG) this.#configured.add(pin);
    if (command === SEARCH) this.#search(pin);
    if (command < SEARCH) this.#transact(command, pin, packed);
  }
  #search(pin: number): void {
    // Until a pin is configured there is no bus.
    if (!this.#configured.has(pin)) return;
    const ids = [...this.#slaves.map(({ rom }) => bytesOf(rom)), ...this.ghosts];
    this.#reply([START_SYSEX, ONEWIRE, SEARCH_REPLY, pin, ...packedIn7(ids.flat()), END_SYSEX]);
  }
  #transact(command: number, pin: number, packed: readonly number[]): void {
    if (!this.#configured.has(pin)) return;
    const bytes = unpackedFrom7(packed);
    const take = (count: number) => bytes.splice(0, count);
    const address = command & 0x04 ? take(8) : null;
    const [low = 0, high = 0, id0 = 0, id1 = 0] = command & 0x08 ? take(4) : [];
    if (command & 0x10) take(4);
    const selected = address
      ? this.#slaves.filter(({ rom }) => bytesOf(rom).every((byte, index) => byte === address[index]))
      : this.#slaves;
    if (command & 0x20) for (const slave of selected) this.#write(slave, bytes);
    if (!(command & 0x08)) return;
    const count = low | (high << 8);
    const [slave] = selected;
    const read = slave
      ? this.garble(this.#scratchpad(slave), slave.rom)
      : new Array<number>(count).fill(0xff);
    const answer = [START_SYSEX, ONEWIRE, READ_REPLY, pin, ...packedIn7([id0, id1, ...read]), END_SYSEX];
    if (this.delayReply) {
      this.delayReply = false;
      this.#held = Uint8Array.from(answer);
      return;
    }
    if (this.#held !== null) this.#options.send(this.#held);
    this.#held = null;
    this.#reply(answer);
  }
  #write(slave: Slave, [command, ...data]: readonly number[]): void {
    if (command === 0x44) {
      slave.pending = slave.temperature();
      slave.convertedAt = this.#options.clock.monotonic() + CONVERSION_MS;
    }
    if (command === 0x4e) {
      [slave.th, slave.tl] = data as [number, number];
      slave.configuration = data[2] ?? slave.configuration;
      slave.ram = this.#withSettings(slave, slave.ram);
    }
  }
  #scratchpad(slave: Slave): number[] {
    if (slave.convertedAt !== null && this.#options.clock.monotonic() >= slave.convertedAt) {
      slave.ram = ds18b20(slave.pending, slave);
      slave.convertedAt = null;
    }
    return [...slave.ram];
  }
  #withSettings({ th, tl, configuration }: Slave, ram: readonly number[]): number[] {
    const eight = ram.slice(0, 8).with(2, th).with(3, tl).with(4, configuration);
    return [...eight, crc8(eight)];
  }

  #reply(bytes: readonly number[]): void {
    if (this.loseReplies > 0) this.loseReplies -= 1;
    else this.#send(bytes);
  }
  #send(bytes: readonly number[]): void {
    this.#options.send(Uint8Array.from(bytes));
  }
}

const bytesOf = (rom: RomId): number[] => rom.split('-').map((pair) => Number.parseInt(pair, 16));

/** onewire.md: "encoded using 8 times 7 bit for 7 bytes of 8 bit", the lowest bits first. */
function packedIn7(bytes: readonly number[]): number[] {
  const bits = bytes.flatMap((byte) => Array.from({ length: 8 }, (_, bit) => (byte >> bit) & 1));
  const packed: number[] = [];
  for (let at = 0; at < bits.length; at += 7)
    packed.push(bits.slice(at, at + 7).reduce((byte, bit, index) => byte | (bit << index), 0));
  return packed;
}
function unpackedFrom7(packed: readonly number[]): number[] {
  const bits = packed.flatMap((byte) => Array.from({ length: 7 }, (_, bit) => (byte >> bit) & 1));
  const bytes: number[] = [];
  for (let at = 0; at + 8 <= bits.length; at += 8)
    bytes.push(bits.slice(at, at + 8).reduce((byte, bit, index) => byte | (bit << index), 0));
  return bytes;
}
