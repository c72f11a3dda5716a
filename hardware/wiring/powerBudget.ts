/** What a part draws from 5 V, mA: mostly, and at its worst; with where the figure is from. */
interface Draw {
  readonly what: string;
  readonly usual: number;
  readonly most: number;
  readonly source: string;
}

/** Between two readings with no host: the board scans every 20 s, probes convert for at most 0.75 s. */
const SCAN_SECONDS = 20;
const CONVERSION_SECONDS = 0.75;

/** The draws of a carrier with this many probes. */
export function draws(probes: number): Draw[] {
  return [
    {
      what: 'board: chip mostly asleep, USB serial chip, power lamp',
      usual: 30,
      most: 50,
      source: 'common practice, no source: measure yours',
    },
    {
      what: `${probes} probes, converting ${CONVERSION_SECONDS} s of ${SCAN_SECONDS} s`,
      usual: (probes * 1 * CONVERSION_SECONDS) / SCAN_SECONDS,
      most: probes * 1.5,
      source: 'DS18B20 datasheet, 19-7487 Rev 4: active 1 mA, at most 1.5 mA',
    },
    {
      what: 'serial memory',
      usual: 0.1,
      most: 5,
      source: 'common practice, no source: EEPROM while it writes',
    },
    { what: 'clock', usual: 0.2, most: 0.3, source: 'DS3231 datasheet, active supply current (from memory)' },
    { what: 'LED through 470 Ohm', usual: 0.1, most: 6, source: '(5 V - 2 V) / 470 Ohm; mostly dark' },
    { what: 'piezo through 220 Ohm', usual: 0, most: 5, source: 'common practice, no source; mostly silent' },
  ];
}

/** What a lead's adapter, a battery's converter and the diode leave of the energy: common practice, no source. */
const EFFICIENCY = 0.75;

/** Batteries by what they hold, Wh; all common sizes, no source. */
export const BATTERIES = [
  { what: 'four AA NiMH cells in a ready-made 5 V USB box', wattHours: 9.6 },
  { what: 'USB power bank marked 10 000 mAh', wattHours: 37 },
  { what: '12 V, 7 Ah lead-acid battery, half of it', wattHours: 42 },
] as const;

export interface PowerBudget {
  readonly draws: readonly Draw[];
  readonly milliamperes: { readonly usual: number; readonly most: number };
  /** At 5 V. */
  readonly watts: { readonly usual: number; readonly most: number };
  /** Hours a battery lasts at the usual draw. */
  readonly hours: readonly { readonly what: string; readonly wattHours: number; readonly hours: number }[];
}

/** Watts, and hours on a battery: h = Wh x 0.75 / W. */
export function powerBudget(probes: number): PowerBudget {
  const list = draws(probes);
  const sum = (which: 'usual' | 'most') => list.reduce((total, draw) => total + draw[which], 0);
  const milliamperes = { usual: sum('usual'), most: sum('most') };
  const watts = { usual: (milliamperes.usual * 5) / 1000, most: (milliamperes.most * 5) / 1000 };
  return {
    draws: list,
    milliamperes,
    watts,
    hours: BATTERIES.map((battery) => ({
      ...battery,
      hours: (battery.wattHours * EFFICIENCY) / watts.usual,
    })),
  };
}

/** Volts at the board's 5 V pin: adapter less the diode. USB 2.0, 7.2.2: 4.75 to 5.25 V (from memory); 1N5817 at 0.1 A: at most 0.32 V (datasheet, from memory). */
export const RAIL_V = { least: 4.75 - 0.32, most: 5.25 - 0.15 } as const;
/** The chip at 16 MHz wants this: ATmega328P datasheet, speed grades, straight line from 10 MHz at 2.7 V to 20 MHz at 4.5 V (from memory). */
export const CHIP_V_LEAST = 2.7 + ((16 - 10) / (20 - 10)) * (4.5 - 2.7);
