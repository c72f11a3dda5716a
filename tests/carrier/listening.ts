import type { CarrierEvent } from '../../src/carrier/events.js';
import type { CarrierSource } from '../../src/carrier/source.js';
import type { RomId } from '../../src/units/ids.js';
import type { VirtualClock } from './host/virtualClock.js';

/** Listens to a source in virtual time. */
export class Listening {
  /** All that it has told so far. */
  readonly events: CarrierEvent[] = [];
  readonly #clock: VirtualClock;
  readonly #stop = new AbortController();
  #running: Promise<void> = Promise.resolve();

  constructor(clock: VirtualClock) {
    this.#clock = clock;
  }

  /** Opens it and goes on listening; resolves when it is open. */
  begin(source: CarrierSource): Promise<void> {
    const opened = source.open();
    this.#running = opened.then(() => source.run((event) => this.events.push(event), this.#stop.signal));
    return opened;
  }
  /** Stops listening, and waits until the source has ended. */
  async end(): Promise<void> {
    this.#stop.abort();
    await this.#clock.pass(60_000);
    await this.#running;
  }

  scans() {
    return this.events.filter((event) => event.kind === 'scan');
  }
  /** What was read of a probe, scan by scan. */
  readings(rom: RomId): string[] {
    return this.scans().flatMap((scan) =>
      scan.readings.flatMap((each) => (each.rom === rom ? [`${each.status} ${each.raw}`] : [])),
    );
  }
  /** What was told of the link when it came into that state. */
  links(state: 'open' | 'closed' | 'note'): string[] {
    return this.events.flatMap((event) =>
      event.kind === 'link' && event.state === state ? [event.detail] : [],
    );
  }
}
