/**
 * The colours of pages and charts. Chosen so that each pair that stands side by side differs in lightness, not only in
 * hue: it stays told apart on a grey print-out and by eyes that see few colours. Nothing is told by colour alone.
 */
export const PALETTE = {
  /** Text and axes. */
  ink: '#1b1b1b',
  /** Remarks, grid labels. */
  faint: '#5a5a5a',
  /** Grid lines and borders. */
  rule: '#c4c4c4',
  /** Behind table heads and notes. */
  wash: '#f3f1ec',
  /** What was measured: a trace, an estimate. */
  measured: '#0b4f8a',
  /** A range around what was measured. */
  range: '#9cc3e6',
  /** A limit that the measured is held against. */
  limit: '#a33c00',
  /** Time without a reading. */
  gap: '#e3d9c0',
} as const;

export const PAPER = '#ffffff';
