import type { Conversion } from './scratchpad.js';

/** What a fault does while it lasts. */
interface Effect {
  /** The thermometer is off the bus and without supply; it restarts when the fault ends. */
  readonly detached?: true;
  /** The line is held low. */
  readonly shorted?: true;
  /** The chance that a bit the master samples in a read slot is inverted. */
  readonly flipChance?: number;
  /** What the thermometer sends in place of its scratchpad. */
  readonly garble?: (bytes: Uint8Array) => Uint8Array;
  /** What the thermometer holds when it restarts (at the beginning and the end of this fault). */
  readonly restarts?: true;
  readonly powerUpConversion?: Conversion;
}

/** The one table of what can go wrong on the bus. */
export const FAULTS = {
  'loose-lead': { detached: true },
  short: { shorted: true },
  'bit-flips': { flipChance: 1 / 200 },
  'rare-bit-flips': { flipChance: 1 / 1000 },
  'all-zero': { garble: (bytes) => new Uint8Array(bytes.length) },
  'damaged-scratchpad': { garble: (bytes) => bytes.map((byte, index) => (index === 0 ? byte ^ 0x04 : byte)) },
  /** A dip of its supply: it restarts, on the bus all the time. */
  restart: { restarts: true },
  /** A clone that wakes with 25.0 in place of 85. */
  'clone-power-up-25': { restarts: true, powerUpConversion: [0x90, 0x01, 0x0c, 0x10] },
} as const satisfies Record<string, Effect>;

export type FaultKind = keyof typeof FAULTS;

/** A fault from `fromMs` (inclusive) to `toMs` (exclusive) of simulated time. */
export interface Fault {
  readonly kind: FaultKind;
  /** The thermometer concerned; faults of the line itself name none. */
  readonly rom?: string;
  readonly fromMs: number;
  readonly toMs: number;
}

export const effectOf = (kind: FaultKind): Effect => FAULTS[kind];

/** The moments at which faults begin or end, in order of time; a fault that ends goes before one that begins. */
export function faultChanges(
  faults: readonly Fault[],
): readonly { atMs: number; fault: Fault; begins: boolean }[] {
  return faults
    .flatMap((fault) => [
      { atMs: fault.fromMs, fault, begins: true },
      { atMs: fault.toMs, fault, begins: false },
    ])
    .sort((a, b) => a.atMs - b.atMs || Number(a.begins) - Number(b.begins));
}
