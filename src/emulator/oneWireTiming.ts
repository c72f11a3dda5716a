/**
 * Time windows of the 1-Wire bus, microseconds: DS18B20 datasheet, 19-7487 Rev 4, sections "1-Wire
 * signaling" and the AC table.
 */
export const RESET_LOW_MIN_US = 480;
export const RESET_LOW_MAX_US = 960;
export const RESET_HIGH_MIN_US = 480;
export const PRESENCE_SAMPLE_MIN_US = 60;
export const PRESENCE_SAMPLE_MAX_US = 75;
export const SLOT_MIN_US = 60;
export const LOW_MIN_US = 1;
export const WRITE_1_LOW_MAX_US = 15;
export const WRITE_0_LOW_MIN_US = 60;
export const WRITE_0_LOW_MAX_US = 120;
export const READ_SAMPLE_MAX_US = 15;
export const RECOVERY_MIN_US = 1;

/** What a master can do wrong. */
export const VIOLATIONS = [
  'reset too long',
  'too soon after reset',
  'presence sampled outside its window',
  'slot too short',
  'no recovery',
  'low too short',
  'low neither 1 nor 0',
  'low too long for a slot',
  'read released late',
  'read sampled late',
  'line driven high',
] as const;
export type Violation = (typeof VIOLATIONS)[number];

/** How one thermometer answers, within what the datasheet allows. */
export interface ResponseTimes {
  /** From the end of the reset to its presence pulse: 15 to 60. */
  readonly presenceDelayUs: number;
  /** Length of the presence pulse: 60 to 240. */
  readonly presenceUs: number;
  /** When in a write slot it looks at the line: 15 to 60. */
  readonly sampleUs: number;
  /** How long it holds a 0 in a read slot, from the falling edge: 15 to 60. */
  readonly holdUs: number;
  /** A 12-bit conversion: at most 750. */
  readonly conversionMs: number;
}

export const TYPICAL: ResponseTimes = {
  presenceDelayUs: 30,
  presenceUs: 120,
  sampleUs: 30,
  holdUs: 30,
  conversionMs: 600,
};
export const QUICKEST: ResponseTimes = {
  presenceDelayUs: 15,
  presenceUs: 60,
  sampleUs: 15,
  holdUs: 15,
  conversionMs: 400,
};
export const SLOWEST: ResponseTimes = {
  presenceDelayUs: 60,
  presenceUs: 240,
  sampleUs: 60,
  holdUs: 60,
  conversionMs: 750,
};
