import type { CarrierEvent } from './events.js';

/** Anything that gives readings: once opened, it reports events until it is told to stop. */
export interface CarrierSource {
  /** For people: the port's name, or the scenario's carrier. */
  readonly name: string;
  /** Reaches the source for the first time, before anything is recorded. @throws {Refusal} when it cannot */
  open(): Promise<void>;
  /** Reports events until `signal` is aborted; after `open`. */
  run(onEvent: (event: CarrierEvent) => void, signal: AbortSignal): Promise<void>;
  /** Writes a line to the board; lost while the connection is down. */
  write(line: string): void;
}
