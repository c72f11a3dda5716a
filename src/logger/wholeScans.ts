import type { CarrierEvent } from '../carrier/events.js';

/** Hands on events, those of one scan together: a scan of many probes comes in several lines, and is one transaction. */
export interface WholeScans {
  take(event: CarrierEvent): void;
  /** Called regularly: a scan that nothing follows is handed on at the second call. */
  tick(): void;
  /** Hands on what is held back. */
  flush(): void;
}

/**
 * Holds a line of a scan back until something else comes, or two ticks have passed. Order is kept. What is held when the
 * supply fails is no more than what was on its way on the cable.
 */
export function wholeScans(hear: (events: readonly CarrierEvent[]) => void): WholeScans {
  let held: CarrierEvent[] = [];
  let isOld = false;
  const flush = () => {
    const events = held;
    held = [];
    isOld = false;
    if (events.length > 0) hear(events);
  };
  return {
    take(event) {
      if (!isSameScan(held[0], event)) flush();
      if (event.kind === 'scan') held.push(event);
      else hear([event]);
    },
    tick() {
      if (isOld) flush();
      else isOld = held.length > 0;
    },
    flush,
  };
}

const isSameScan = (first: CarrierEvent | undefined, event: CarrierEvent): boolean =>
  first?.kind === 'scan' &&
  event.kind === 'scan' &&
  first.board === event.board &&
  first.bootCount === event.bootCount &&
  first.scan === event.scan;
