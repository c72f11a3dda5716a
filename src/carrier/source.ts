import type { CarrierEvent } from './events.js';

/** Anything that gives readings: it reports events until `signal` is aborted, then resolves. */
export interface CarrierSource {
  /** For people: the port's name, or the scenario's carrier. */
  readonly name: string;
  run(onEvent: (event: CarrierEvent) => void, signal: AbortSignal): Promise<void>;
}
