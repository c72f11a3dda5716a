import type { Firmata } from 'firmata-io';
import type { Clock } from '../../units/clock.js';
import { parseRomId, type RomId } from '../../units/ids.js';
import { type DurationMs, seconds } from '../../units/time.js';
import type { Mark } from '../host/nineBytes.js';
import { DS18B20, TWELVE_BIT } from '../host/nineBytes.js';

/** The OneWire part of the published Firmata protocol: one message carries a whole transaction on the bus. */
const ONEWIRE_DATA = 0x73;
const SEARCH = 0x40;
/** Steps of a transaction, done in this order. */
const [RESET, SKIP, SELECT, READ, WRITE] = [0x01, 0x02, 0x04, 0x08, 0x20];
const CORRELATIONS = 0x1_0000;

/** Commands of the thermometers (DS18B20 datasheet). */
const CONVERT = 0x44;
const READ_SCRATCHPAD = 0xbe;
const WRITE_SCRATCHPAD = 0x4e;
const SCRATCHPAD_BYTES = 9;

/** A reply comes within milliseconds; one that takes this long was lost. */
const REPLY_WITHIN: DurationMs = seconds(1);
const SEARCHED_WITHIN: DurationMs = seconds(3);

/** Transactions on the 1-Wire buses of a stock board. A lost reply is null, after a wait that is bounded. */
export interface OneWireRequests {
  /** The ids found on a pin's bus; those that are damaged are counted. */
  search(pin: number): Promise<{ readonly roms: readonly RomId[]; readonly damaged: number } | null>;
  /** All thermometers of a pin begin to convert. */
  convert(pin: number): void;
  scratchpad(pin: number, rom: RomId): Promise<Uint8Array | null>;
  /** Writes a mark, and 12 bit where that can be set. Nobody answers: it is seen at the next reading. */
  writeMark(pin: number, rom: RomId, mark: Mark): void;
}

/**
 * @param gone ends every wait when the connection does
 */
export function oneWireRequests(
  io: Firmata,
  clock: Pick<Clock, 'sleep'>,
  gone: AbortSignal,
): OneWireRequests {
  let correlation = 0;
  const send = (command: number, pin: number, bytes: readonly number[]) =>
    io.sysexCommand([ONEWIRE_DATA, command, pin, ...sevenBit(bytes)]);

  /** Waits for one emission of `event`. Its listener does not outlive the wait, so that a late reply finds nobody. */
  const reply = async <T>(event: string, within: DurationMs): Promise<T | null> => {
    const come = new AbortController();
    let value: T | null = null;
    const take = (taken: T) => {
      value = taken;
      come.abort();
    };
    io.once(event, take);
    await clock.sleep(within, AbortSignal.any([come.signal, gone]));
    io.off(event, take);
    return value;
  };

  return {
    async search(pin) {
      const waiting = reply<number[][]>(`1-wire-search-reply-${pin}`, SEARCHED_WITHIN);
      io.sysexCommand([ONEWIRE_DATA, SEARCH, pin]);
      const found = await waiting;
      if (found === null) return null;
      const roms = found.map((bytes) => parseRomId(bytes.map(hexPair).join('-')));
      return {
        roms: roms.filter((rom) => rom !== null),
        damaged: roms.filter((rom) => rom === null).length,
      };
    },
    convert: (pin) => send(RESET | SKIP | WRITE, pin, [CONVERT]),
    async scratchpad(pin, rom) {
      // Numbers of its own, never 0: with a number used again a late reply would come under another probe's name.
      correlation = (correlation % (CORRELATIONS - 1)) + 1;
      const waiting = reply<number[]>(`1-wire-read-reply-${correlation}`, REPLY_WITHIN);
      send(RESET | SELECT | READ | WRITE, pin, [
        ...bytesOf(rom),
        SCRATCHPAD_BYTES,
        0,
        correlation & 0xff,
        correlation >> 8,
        READ_SCRATCHPAD,
      ]);
      const bytes = await waiting;
      return bytes === null ? null : Uint8Array.from(bytes);
    },
    writeMark(pin, rom, { th, tl }) {
      const address = bytesOf(rom);
      const settings = address[0] === DS18B20 ? [th, tl, TWELVE_BIT] : [th, tl];
      send(RESET | SELECT | WRITE, pin, [...address, WRITE_SCRATCHPAD, ...settings]);
    },
  };
}

const hexPair = (byte: number): string => byte.toString(16).padStart(2, '0');
const bytesOf = (rom: RomId): number[] => rom.split('-').map((pair) => Number.parseInt(pair, 16));

/** Bytes of eight bits as a stream of bits in bytes of seven, the least significant first. */
export function sevenBit(bytes: readonly number[]): number[] {
  const packed: number[] = [];
  let [held, bits] = [0, 0];
  for (const byte of bytes) {
    held |= byte << bits;
    bits += 8;
    for (; bits >= 7; bits -= 7) {
      packed.push(held & 0x7f);
      held >>= 7;
    }
  }
  if (bits > 0) packed.push(held);
  return packed;
}
