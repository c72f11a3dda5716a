/** Where things stand in the wiring picture: A4 lying, millimetres from its upper left corner. */
export const PAGE_MM = { width: 297, height: 210 } as const;

export type Side = 'left' | 'right' | 'top' | 'bottom';
export type Direction = 'right' | 'left' | 'down' | 'up';
export type Point = readonly [x: number, y: number];

/** A part drawn as a box; `at` is where its pin meets the side, from left or from above. */
export interface Box {
  readonly ref: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly pins: Readonly<Record<string, { readonly side: Side; readonly at: number }>>;
  /** Its name in a line or more, around `text` or the middle. */
  readonly name: readonly string[];
  readonly text?: Point;
  /** Letter height of its pins where it is narrow. */
  readonly pinSize?: number;
}

/** A part with two pins, drawn as its symbol: the first of its pins at `at`, the second `SYMBOL_MM` further `to`. */
export interface TwoPin {
  readonly ref: string;
  readonly at: Point;
  readonly to: Direction;
  readonly label: Side;
}

/**
 * The wires of a net. A route begins at a pin or at `x,y` and goes on in straight steps: `x50` across to x = 50,
 * `y60` up or down to y = 60, a pin across or down to it.
 */
export interface Wires {
  readonly net: string;
  readonly routes: readonly string[];
}

/** A net's name beside its wire; `at` is the left end of its base line. */
export interface Label {
  readonly net: string;
  readonly at: Point;
}

export interface Layout {
  readonly boxes: readonly Box[];
  readonly symbols: readonly TwoPin[];
  readonly wires: readonly Wires[];
  readonly labels: readonly Label[];
}

export const SYMBOL_MM = 10;

const RAIL_Y = 46;
const GROUND_Y = 132;
const TRUNK_Y = { ground: 150, data: 156, supply: 162 } as const;
const PROBES = { left: 68, right: 280, top: 172, height: 18, widthMost: 19.5 } as const;

/** The picture of a carrier with `slots` slots. */
export function layoutOf(slots: number): Layout {
  const probes = probeBoxes(slots);
  const pinX = ({ x, pins }: Box, pin: string) => x + (pins[pin]?.at ?? 0);
  const drops = (pin: string, y: number) => probes.map(({ ref }) => `${ref}.${pin} y${y}`);
  const last = probes[probes.length - 1] ?? probeBoxes(1)[0]!;
  const end = (pin: string) => `x${pinX(last, pin)}`;
  return {
    boxes: [...FIXED_BOXES, ...probes],
    symbols: SYMBOLS,
    wires: [
      ...FIXED_WIRES,
      {
        net: '5V_TRUNK',
        routes: [`F2.out y${TRUNK_Y.supply} ${end('VDD')}`, ...drops('VDD', TRUNK_Y.supply)],
      },
      {
        net: 'DATA',
        routes: ['U1.PD2 R1.2', `50,100 y${TRUNK_Y.data} ${end('DQ')}`, ...drops('DQ', TRUNK_Y.data)],
      },
      {
        net: 'GND',
        routes: [
          `276,${GROUND_Y} x62 y${TRUNK_Y.ground} ${end('GND')}`,
          ...GROUND_ROUTES,
          ...drops('GND', TRUNK_Y.ground),
        ],
      },
    ],
    labels: [
      ...FIXED_LABELS,
      { net: '5V_TRUNK', at: [pinX(last, 'VDD') + 1, TRUNK_Y.supply - 1] },
      { net: 'DATA', at: [pinX(last, 'DQ') + 1.5, TRUNK_Y.data + 0.5] },
      { net: 'GND', at: [pinX(last, 'GND') + 1.5, TRUNK_Y.ground + 0.5] },
    ],
  };
}

function probeBoxes(slots: number): Box[] {
  const pitch = (PROBES.right - PROBES.left + 2) / slots;
  const width = Math.min(PROBES.widthMost, pitch - 2);
  const round = (mm: number) => Math.round(mm * 100) / 100;
  return Array.from({ length: slots }, (_, index) => ({
    ref: `P${index + 1}`,
    x: round(PROBES.left + index * pitch),
    y: PROBES.top,
    width: round(width),
    height: PROBES.height,
    pins: {
      GND: { side: 'top', at: round(width * 0.18) },
      DQ: { side: 'top', at: round(width * 0.5) },
      VDD: { side: 'top', at: round(width * 0.82) },
    },
    name: [`P${index + 1}`, `slot ${index + 1}`],
    pinSize: round(Math.min(2.5, (width * 0.32 - 0.7) / 1.8)),
    text: [round(PROBES.left + index * pitch + width / 2), PROBES.top + 11.5],
  }));
}

const FIXED_BOXES: readonly Box[] = [
  {
    ref: 'U1',
    x: 78,
    y: 52,
    width: 44,
    height: 66,
    pins: {
      'D-': { side: 'top', at: 8 },
      'D+': { side: 'top', at: 15 },
      '5V': { side: 'top', at: 34 },
      PD2: { side: 'left', at: 48 },
      PC4: { side: 'right', at: 8 },
      PC5: { side: 'right', at: 16 },
      PD4: { side: 'right', at: 30 },
      PD5: { side: 'right', at: 42 },
      PB3: { side: 'right', at: 54 },
      GND: { side: 'bottom', at: 22 },
    },
    name: ['U1', 'board', 'ATmega328P', '16 MHz, 5 V'],
    text: [92, 78],
  },
  {
    ref: 'U2',
    x: 186,
    y: 53,
    width: 26,
    height: 35,
    pins: {
      VCC: { side: 'top', at: 13 },
      SDA: { side: 'left', at: 7 },
      SCL: { side: 'left', at: 15 },
      A0: { side: 'right', at: 7 },
      A1: { side: 'right', at: 12.5 },
      A2: { side: 'right', at: 18 },
      WP: { side: 'right', at: 23.5 },
      GND: { side: 'right', at: 29 },
    },
    name: ['U2', 'memory', '24-series', '64 KiB'],
    text: [196, 74],
  },
  {
    ref: 'U3',
    x: 186,
    y: 91,
    width: 26,
    height: 29,
    pins: {
      VCC: { side: 'right', at: 5 },
      SDA: { side: 'left', at: 5 },
      SCL: { side: 'left', at: 13 },
      VBAT: { side: 'right', at: 11 },
      GND: { side: 'right', at: 17 },
    },
    name: ['U3 clock', 'DS3231 registers'],
    text: [199, 113.5],
  },
  {
    ref: 'H1',
    x: 266,
    y: 16,
    width: 21,
    height: 25,
    pins: {
      'D-': { side: 'left', at: 6 },
      'D+': { side: 'left', at: 11 },
      VBUS: { side: 'left', at: 16 },
      GND: { side: 'bottom', at: 10 },
    },
    name: ['H1', 'laptop', 'USB'],
    text: [280.5, 25],
  },
  {
    ref: 'PS1',
    x: 234,
    y: 68,
    width: 24,
    height: 17,
    pins: {
      '5V': { side: 'top', at: 12 },
      '12V': { side: 'bottom', at: 12 },
      GND: { side: 'right', at: 9 },
    },
    name: ['PS1', 'adapter'],
    text: [242, 76.5],
  },
  {
    ref: 'J1',
    x: 234,
    y: 107,
    width: 24,
    height: 17,
    pins: { '12V': { side: 'top', at: 12 }, GND: { side: 'right', at: 9 } },
    name: ['J1', 'vehicle', 'socket'],
    text: [243, 113.5],
  },
];

const SYMBOLS: readonly TwoPin[] = [
  { ref: 'F1', at: [246, 101], to: 'up', label: 'left' },
  { ref: 'D1', at: [246, 63], to: 'up', label: 'left' },
  { ref: 'D2', at: [112, 34], to: 'down', label: 'right' },
  { ref: 'F2', at: [20, 112], to: 'down', label: 'right' },
  { ref: 'C1', at: [68, 78], to: 'down', label: 'left' },
  { ref: 'R1', at: [26, 100], to: 'right', label: 'top' },
  { ref: 'R2', at: [137, 48], to: 'down', label: 'left' },
  { ref: 'R3', at: [150, 48], to: 'down', label: 'right' },
  { ref: 'S1', at: [164, 86], to: 'down', label: 'left' },
  { ref: 'R4', at: [128, 94], to: 'right', label: 'top' },
  { ref: 'L1', at: [150, 100], to: 'down', label: 'right' },
  { ref: 'R5', at: [125, 106], to: 'right', label: 'top' },
  { ref: 'LS1', at: [136, 114], to: 'down', label: 'right' },
  { ref: 'BT1', at: [230, 108], to: 'down', label: 'left' },
];

const GROUND_ROUTES = [
  `C1.- y${GROUND_Y}`,
  `U1.GND y${GROUND_Y}`,
  `LS1.2 y${GROUND_Y}`,
  `L1.K y${GROUND_Y}`,
  `S1.2 y${GROUND_Y}`,
  `U2.A0 x218 y${GROUND_Y}`,
  'U2.A1 x218',
  'U2.A2 x218',
  'U2.WP x218',
  'U2.GND x218',
  'U3.GND x218',
  `BT1.- y${GROUND_Y}`,
  `PS1.GND x264 y${GROUND_Y}`,
  'J1.GND x264',
  `H1.GND y${GROUND_Y}`,
];

const FIXED_WIRES: readonly Wires[] = [
  { net: '12V', routes: ['J1.12V F1.in'] },
  { net: '12V_FUSED', routes: ['F1.out PS1.12V'] },
  { net: '5V_PLUG', routes: ['PS1.5V D1.A'] },
  { net: '5V_USB', routes: ['H1.VBUS x112 D2.A'] },
  {
    net: '5V',
    routes: [
      `D1.K y${RAIL_Y} x20 F2.in`,
      `D2.K y${RAIL_Y}`,
      `U1.5V y${RAIL_Y}`,
      `C1.+ y${RAIL_Y}`,
      'R1.1 x20',
      `R2.1 y${RAIL_Y}`,
      `R3.1 y${RAIL_Y}`,
      `U2.VCC y${RAIL_Y}`,
      `U3.VCC x224 y${RAIL_Y}`,
    ],
  },
  { net: 'USB_D-', routes: ['H1.D- x86 U1.D-'] },
  { net: 'USB_D+', routes: ['H1.D+ x93 U1.D+'] },
  { net: 'SDA', routes: ['U1.PC4 U2.SDA', 'R2.2 y60', '173,60 y96 U3.SDA'] },
  { net: 'SCL', routes: ['U1.PC5 U2.SCL', 'R3.2 y68', '179,68 y104 U3.SCL'] },
  { net: 'VBAT', routes: ['U3.VBAT x230 BT1.+'] },
  { net: 'MARK', routes: ['U1.PD4 x164 S1.1'] },
  { net: 'LED', routes: ['U1.PD5 R4.1'] },
  { net: 'LED_A', routes: ['R4.2 x150 L1.A'] },
  { net: 'SOUND', routes: ['U1.PB3 R5.1'] },
  { net: 'SOUND_A', routes: ['R5.2 x136 LS1.1'] },
];

const FIXED_LABELS: readonly Label[] = [
  { net: '5V', at: [40, RAIL_Y - 1.2] },
  { net: '5V', at: [170, RAIL_Y - 1.2] },
  { net: 'GND', at: [180, GROUND_Y - 1.2] },
  { net: 'GND', at: [110, GROUND_Y - 1.2] },
  { net: 'DATA', at: [54, 98.8] },
  { net: 'SDA', at: [157, 58.8] },
  { net: 'SCL', at: [157, 66.8] },
  { net: 'MARK', at: [126, 80.8] },
  { net: 'USB_D-', at: [180, 20.8] },
  { net: 'USB_D+', at: [180, 25.8] },
  { net: '5V_USB', at: [180, 30.8] },
  { net: '12V', at: [248, 105.5] },
  { net: '12V_FUSED', at: [248, 89] },
  { net: '5V_PLUG', at: [248, 66.8] },
  { net: 'VBAT', at: [221, 100.8] },
];
