import type { Clock } from '../../units/clock.js';
import type { Celsius, CelsiusDifference } from '../../units/temperature.js';
import { type DurationMs, type MonotonicMs, seconds } from '../../units/time.js';
import type { ProbeReading } from '../events.js';
import type { FirmataLink } from './firmataLink.js';

/** A probe on an analog input: what its counts mean is the business of whoever wires parts together. */
export interface AnalogInput {
  /** 0 for A0. */
  readonly channel: number;
  /** @param bits of the converter */
  toCelsius(count: number, bits: number): Celsius;
  /** Standard uncertainty of the probe as it is, converter included. */
  uncertainty(bits: number): CelsiusDifference;
}

/** The board takes at most 16383 ms, and wraps above. */
const SAMPLE_EVERY_MS = 200;
/** Values of the last moments count: one that was sent before that is not what is there now. */
const RECENT: DurationMs = seconds(2);
const SAMPLES_MAX = 64;
const DEFAULT_FULL_SCALE = 1023;

/** The analog inputs of a board while it is connected. */
export interface AnalogReader {
  /** Has the board send them, again after each restart. */
  setUp(): void;
  has(input: AnalogInput): boolean;
  readonly bits: number;
  read(input: AnalogInput): Pick<ProbeReading, 'raw' | 'status'>;
}

export function analogReader(
  { io, board }: FirmataLink,
  inputs: readonly AnalogInput[],
  clock: Pick<Clock, 'monotonic'>,
): AnalogReader {
  const samples = new Map<number, { readonly at: MonotonicMs; readonly count: number }[]>();
  const fullScale = io.RESOLUTION.ADC ?? DEFAULT_FULL_SCALE;
  const bits = Math.round(Math.log2(fullScale + 1));
  const pinOf = (channel: number) => io.analogPins[channel];
  const has = ({ channel }: AnalogInput) => io.pins[pinOf(channel) ?? -1] !== undefined;
  const take = (channel: number) => (count: number) => {
    const held = samples.get(channel) ?? [];
    samples.set(channel, [...held.slice(1 - SAMPLES_MAX), { at: clock.monotonic(), count }]);
  };
  let isListening = false;

  return {
    has,
    bits,
    setUp() {
      samples.clear();
      const present = inputs.filter(has);
      if (present.length === 0) return;
      board.samplingInterval(SAMPLE_EVERY_MS);
      for (const { channel } of present) {
        // This library wants the channel, not the pin, for this one mode.
        board.pinMode(channel, io.MODES.ANALOG);
        if (isListening) io.removeAllListeners(`analog-read-${channel}`);
        board.analogRead(channel, take(channel));
      }
      isListening = true;
    },
    read(input) {
      const since = clock.monotonic() - RECENT;
      const counts = (samples.get(input.channel) ?? [])
        .filter(({ at }) => at >= since)
        .map(({ count }) => count);
      const count = median(counts);
      // At the ends of the scale a wire is broken or shorted.
      if (count === null || count < 1 || count > fullScale - 1) return { raw: null, status: 'missing' };
      return { raw: Math.round(input.toCelsius(count, bits) * 16), status: 'ok' };
    },
  };
}

function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length / 2;
  return (sorted[Math.floor(half)]! + sorted[Math.ceil(half) - 1]!) / 2;
}
