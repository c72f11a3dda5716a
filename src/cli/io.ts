/** Where a command prints: results on `out`, everything else on `err`. Each call is one or more whole lines. */
export interface Io {
  out(text: string): void;
  err(text: string): void;
  /** How wide the terminal is on which `err` prints; left out when it is none. */
  readonly errColumns?: number | undefined;
}
