import { crc8 } from '../units/ids.js';
import { type ResponseTimes, TYPICAL } from './oneWireTiming.js';
import {
  atPowerUp,
  type Conversion,
  convert,
  DELIVERED,
  DS18S20,
  scratchpadBytes,
  type UserBytes,
} from './scratchpad.js';

export interface ThermometerOptions {
  /** The ROM id: eight hex pairs with hyphens, in bus order, CRC last. A wrong CRC is a RangeError. */
  readonly rom: string;
  /** What the chip would convert at `ms` of simulated time, degrees Celsius. */
  temperatureAt(ms: number): number;
  readonly times?: ResponseTimes;
  /** What its EEPROM holds. */
  readonly saved?: UserBytes;
}

const ROM_BITS = 64;

type Phase =
  | 'idle'
  | 'rom-command'
  | 'match-rom'
  | 'search-bit'
  | 'search-complement'
  | 'search-choice'
  | 'function-command'
  | 'write-scratchpad'
  | 'send'
  | 'send-busy';

function romBytes(rom: string): Uint8Array {
  const bytes = Uint8Array.from(rom.split('-'), (pair) => Number.parseInt(pair, 16));
  if (bytes.length !== 8 || crc8(bytes) !== 0) throw new RangeError(`${rom} is not a ROM id`);
  return bytes;
}

/** A DS18B20 (family 28h) or DS18S20 (10h), externally powered, seen from the bus slot by slot. */
export class Thermometer {
  readonly rom: string;
  readonly times: ResponseTimes;
  /** Faults: the conversion it holds after power-up, and what it sends for a scratchpad. */
  powerUpConversion: Conversion | null = null;
  garble: ((bytes: Uint8Array) => Uint8Array) | null = null;

  readonly #temperatureAt: (ms: number) => number;
  readonly #romBytes: Uint8Array;
  readonly #family: number;
  #saved: UserBytes;
  #user: UserBytes;
  #held: Conversion;
  /** The conversion under way and when it will be held. */
  #pending: Conversion | null = null;
  #pendingUntilUs = 0;

  #phase: Phase = 'idle';
  #bit = 0;
  #shift = 0;
  #outgoing: Uint8Array = new Uint8Array();

  constructor(options: ThermometerOptions) {
    this.rom = options.rom;
    this.times = options.times ?? TYPICAL;
    this.#temperatureAt = options.temperatureAt;
    this.#romBytes = romBytes(options.rom);
    this.#family = this.#romBytes[0] ?? 0;
    this.#saved = options.saved ?? DELIVERED;
    this.#user = this.#saved;
    this.#held = atPowerUp(this.#family);
  }

  /** Its supply came back: everything but the EEPROM is lost. */
  powerUp(): void {
    this.#user = this.#saved;
    this.#held = this.powerUpConversion ?? atPowerUp(this.#family);
    this.#pending = null;
    this.#phase = 'idle';
  }

  /** The bus was reset. */
  reset(): void {
    this.#expect('rom-command');
  }

  /** True when this thermometer has dropped out until the next reset. */
  get isIdle(): boolean {
    return this.#phase === 'idle';
  }

  /** The bit it sends in the slot that begins now, or null when it listens. */
  sends(us: number): 0 | 1 | null {
    switch (this.#phase) {
      case 'search-bit':
        return this.#romBit();
      case 'search-complement':
        return this.#romBit() === 1 ? 0 : 1;
      case 'send':
        return this.#outgoingBit();
      case 'send-busy':
        return this.#pending !== null && us < this.#pendingUntilUs ? 0 : 1;
      default:
        return null;
    }
  }

  /** The slot in which it sent is over. */
  sent(): void {
    if (this.#phase === 'search-bit') this.#phase = 'search-complement';
    else if (this.#phase === 'search-complement') this.#phase = 'search-choice';
    else if (this.#phase === 'send') {
      this.#bit += 1;
      if (this.#bit === this.#outgoing.length * 8) this.#phase = 'idle';
    }
  }

  /** It listened and heard `bit`. */
  hears(bit: 0 | 1, us: number): void {
    if (this.#phase === 'match-rom' || this.#phase === 'search-choice') {
      this.#compare(bit);
      return;
    }
    this.#shift |= bit << this.#bit;
    this.#bit += 1;
    if (this.#phase === 'write-scratchpad') this.#writeScratchpad();
    else if (this.#bit < 8) return;
    else if (this.#phase === 'rom-command') this.#romCommand(this.#shift);
    else this.#functionCommand(this.#shift, us);
  }

  #expect(phase: Phase): void {
    this.#phase = phase;
    this.#bit = 0;
    this.#shift = 0;
  }

  #romBit(): 0 | 1 {
    return (((this.#romBytes[this.#bit >> 3] ?? 0) >> (this.#bit & 7)) & 1) as 0 | 1;
  }

  #outgoingBit(): 0 | 1 {
    return (((this.#outgoing[this.#bit >> 3] ?? 0xff) >> (this.#bit & 7)) & 1) as 0 | 1;
  }

  #compare(bit: 0 | 1): void {
    const isOther = bit !== this.#romBit();
    this.#bit += 1;
    if (isOther) this.#expect('idle');
    else if (this.#bit === ROM_BITS) this.#expect('function-command');
    else if (this.#phase === 'search-choice') this.#phase = 'search-bit';
  }

  #send(bytes: Uint8Array): void {
    this.#expect('send');
    this.#outgoing = bytes;
  }

  #romCommand(command: number): void {
    if (command === 0xcc) this.#expect('function-command');
    else if (command === 0x55) this.#expect('match-rom');
    else if (command === 0xf0) this.#expect('search-bit');
    else if (command === 0x33) this.#send(this.#romBytes);
    else this.#expect('idle');
  }

  #functionCommand(command: number, us: number): void {
    if (command === 0x44) this.#convert(us);
    else if (command === 0xbe) this.#send(this.#scratchpad(us));
    else if (command === 0x4e) this.#expect('write-scratchpad');
    else if (command === 0x48) {
      this.#saved = this.#user;
      this.#expect('idle');
    } else if (command === 0xb8) {
      this.#user = this.#saved;
      this.#expect('idle');
    } else this.#expect('idle'); // B4h too: an externally powered part answers with ones
  }

  #convert(us: number): void {
    this.#settle(us);
    const { configuration } = this.#user;
    const coarser = this.#family === DS18S20 ? 0 : 3 - ((configuration >> 5) & 3);
    this.#pending = convert(this.#temperatureAt(us / 1000), this.#family, configuration);
    this.#pendingUntilUs = us + (this.times.conversionMs * 1000) / 2 ** coarser;
    this.#expect('send-busy');
  }

  #settle(us: number): void {
    if (this.#pending === null || us < this.#pendingUntilUs) return;
    this.#held = this.#pending;
    this.#pending = null;
  }

  #scratchpad(us: number): Uint8Array {
    this.#settle(us);
    const bytes = scratchpadBytes(this.#family, this.#held, this.#user);
    return this.garble?.(bytes) ?? bytes;
  }

  /** TH after 8 bits, TL after 16, the configuration after 24 (family 28h only). */
  #writeScratchpad(): void {
    const byte = (this.#shift >> (this.#bit - 8)) & 0xff;
    if (this.#bit === 8) this.#user = { ...this.#user, th: byte };
    else if (this.#bit === 16) {
      this.#user = { ...this.#user, tl: byte };
      if (this.#family === DS18S20) this.#expect('idle');
    } else if (this.#bit === 24) {
      this.#user = { ...this.#user, configuration: (byte & 0x60) | 0x1f };
      this.#expect('idle');
    }
  }
}
