/** What a peripheral has to do at a later clock cycle. `at` is Infinity when nothing is due. */
export interface Appointment {
  readonly at: number;
}

interface Entry extends Appointment {
  at: number;
  readonly run: () => void;
}

/** When each peripheral next has something to do, in clock cycles since power-on. */
export class Agenda {
  readonly #entries: Entry[] = [];
  /** The earliest cycle at which anything is due. */
  next = Number.POSITIVE_INFINITY;

  /** Adds something that can be scheduled; it is not yet due. */
  register(run: () => void): Appointment {
    const entry: Entry = { at: Number.POSITIVE_INFINITY, run };
    this.#entries.push(entry);
    return entry;
  }

  /** Sets when `appointment` is due, in place of what was set before; Infinity cancels it. */
  schedule(appointment: Appointment, at: number): void {
    (appointment as Entry).at = at;
    this.#findNext();
  }

  /** Runs everything that is due at `cycle`, the earliest first. */
  run(cycle: number): void {
    while (this.next <= cycle) {
      const due = this.#entries.find((entry) => entry.at === this.next);
      if (due === undefined) return;
      due.at = Number.POSITIVE_INFINITY;
      this.#findNext();
      due.run();
    }
  }

  #findNext(): void {
    let next = Number.POSITIVE_INFINITY;
    for (const entry of this.#entries) if (entry.at < next) next = entry.at;
    this.next = next;
  }
}
