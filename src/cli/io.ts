/** Where a command prints: results on `out`, everything else on `err`. Each call is one or more whole lines. */
export interface Io {
  out(text: string): void;
  err(text: string): void;
  /** How wide the terminal is on which `err` prints; left out when it is none. */
  readonly errColumns?: number | undefined;
  /**
   * Resolves when what was printed on `out` has been taken, so that it does not pile up in memory; false when whoever
   * read it has gone. Without it, all is taken at once.
   */
  readonly outTaken?: () => Promise<boolean>;
}
