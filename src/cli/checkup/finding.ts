/** What a check came to: fine, worth a look, or something that will cost readings. */
export interface Finding {
  readonly check: string;
  readonly state: 'good' | 'look' | 'bad';
  /** One sentence on what was found. */
  readonly says: string;
  /** What to do, null when there is nothing to do. */
  readonly cure: string | null;
}

export const good = (check: string, says: string): Finding => ({ check, state: 'good', says, cure: null });
export const look = (check: string, says: string, cure: string): Finding => ({
  check,
  state: 'look',
  says,
  cure,
});
export const bad = (check: string, says: string, cure: string): Finding => ({
  check,
  state: 'bad',
  says,
  cure,
});
