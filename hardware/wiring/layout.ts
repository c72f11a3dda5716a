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

/** The screws of a terminal: rings on the wires that they join. */
export interface Terminal {
  readonly ref: string;
  readonly pins: Readonly<Record<string, Point>>;
  /** The left end of the base line of its name, once or oftener. */
  readonly names: readonly Point[];
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
  readonly terminals: readonly Terminal[];
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
    terminals: TERMINALS,
    wires: [
      ...FIXED_WIRES,
      {
        net: '5V_TRUNK',
        routes: [
          `F2.out y${TRUNK_Y.supply} ${end('VDD')}`,
          ...across(20, 'C3.1'),
          ...drops('VDD', TRUNK_Y.supply),
        ],
      },
      {
        net: 'DATA',
        routes: ['U1.PD2 R1.2', `50,100 y${TRUNK_Y.data} ${end('DQ')}`, ...drops('DQ', TRUNK_Y.data)],
      },
      {
        net: 'GND',
        routes: [
          `276,${GROUND_Y} x40`,
          `62,${GROUND_Y} y${TRUNK_Y.ground} ${end('GND')}`,
          ...GROUND_ROUTES,
          ...drops('GND', TRUNK_Y.ground),
        ],
      },
    ],
    labels: [
      ...FIXED_LABELS,
      label('5V_TRUNK', [pinX(last, 'VDD') + 1, TRUNK_Y.supply - 1]),
      label('DATA', [pinX(last, 'DQ') + 1.5, TRUNK_Y.data + 0.5]),
      label('GND', [pinX(last, 'GND') + 1.5, TRUNK_Y.ground + 0.5]),
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

/**
 * A box, its pins written as `SIDE PIN=AT PIN=AT; SIDE ...`.
 *
 * @param text where its name begins
 */
function box(
  ref: string,
  [x, y]: Point,
  [width, height]: Point,
  pins: string,
  name: string,
  text: Point,
): Box {
  const places = pins.split('; ').flatMap((words) => {
    const [side, ...each] = words.split(' ');
    return each.map((pin) => {
      const [own, at] = pin.split('=');
      return [own!, { side: side as Side, at: Number(at) }] as const;
    });
  });
  return { ref, x, y, width, height, pins: Object.fromEntries(places), name: name.split('|'), text };
}

const FIXED_BOXES: readonly Box[] = [
  box(
    'U1',
    [78, 52],
    [44, 66],
    'top D-=8 D+=15 5V=34; left PD2=48; right PC4=8 PC5=16 PD4=30 PD5=42 PB3=54; bottom GND=22',
    'U1|board|ATmega328P|16 MHz, 5 V',
    [92, 78],
  ),
  box(
    'U2',
    [186, 53],
    [26, 35],
    'top VCC=13; left SDA=7 SCL=15; right A0=7 A1=12.5 A2=18 WP=23.5 GND=29',
    'U2|memory|24-series|64 KiB',
    [196, 74],
  ),
  box(
    'U3',
    [186, 91],
    [26, 29],
    'left SDA=5 SCL=13; right VCC=5 VBAT=11 GND=17',
    'U3 clock|DS3231 registers',
    [199, 113.5],
  ),
  box('H1', [266, 16], [21, 25], 'left D-=6 D+=11 VBUS=16; bottom GND=10', 'H1|laptop|USB', [280.5, 25]),
  box('PS1', [234, 68], [24, 17], 'top 5V=12; bottom 12V=12; right GND=9', 'PS1|adapter', [242, 76.5]),
  box('J1', [234, 107], [24, 17], 'top 12V=12; right GND=9', 'J1|vehicle|socket', [243, 113.5]),
];

const SYMBOLS: readonly TwoPin[] = [
  { ref: 'F1', at: [246, 101], to: 'up', label: 'left' },
  { ref: 'D1', at: [246, 63], to: 'up', label: 'left' },
  { ref: 'D2', at: [112, 34], to: 'down', label: 'right' },
  { ref: 'F2', at: [20, 112], to: 'down', label: 'right' },
  { ref: 'C1', at: [68, 78], to: 'down', label: 'left' },
  { ref: 'C2', at: [40, 62], to: 'down', label: 'right' },
  { ref: 'C3', at: [27, 140], to: 'right', label: 'top' },
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

const TERMINALS: readonly Terminal[] = [
  {
    ref: 'X1',
    pins: { GND: [65, TRUNK_Y.ground], DQ: [65, TRUNK_Y.data], VDD: [65, TRUNK_Y.supply] },
    names: [[64, 147]],
  },
  {
    ref: 'X2',
    pins: { PS1: [246, 65.5], GND: [264, 96] },
    names: [
      [240, 66.4],
      [265.8, 97],
    ],
  },
  {
    ref: 'X3',
    pins: { S1: [158, 82], L1: [144, 94], LS1: [136, 110], GND: [164, 129.5] },
    names: [
      [156.2, 86.5],
      [142.2, 98.5],
      [129.5, 111],
      [166, 130.5],
    ],
  },
];

/** Straight down to the rail of ground. */
const down = (...ends: readonly string[]) => ends.map((end) => `${end} y${GROUND_Y}`);
/** Straight up to the rail of 5 V. */
const up = (...ends: readonly string[]) => ends.map((end) => `${end} y${RAIL_Y}`);
const across = (x: number, ...ends: readonly string[]) => ends.map((end) => `${end} x${x}`);

const GROUND_ROUTES = [
  ...down('C1.-', 'C2.2', 'U1.GND', 'BT1.-', 'H1.GND', 'U2.A0 x218', 'PS1.GND x264'),
  ...across(218, 'U2.A1', 'U2.A2', 'U2.WP', 'U2.GND', 'U3.GND'),
  ...across(264, 'J1.GND'),
  ...across(62, 'C3.2'),
  // What is on the lid of the box has one lead to ground.
  'LS1.2 y127 x164',
  'L1.K y127',
  ...down('S1.2'),
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
      ...up('D2.K', 'U1.5V', 'C1.+', 'C2.1', 'R2.1', 'R3.1', 'U2.VCC', 'U3.VCC x224'),
      ...across(20, 'R1.1'),
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

const label = (net: string, at: Point): Label => ({ net, at });

const FIXED_LABELS: readonly Label[] = [
  label('5V', [46, RAIL_Y - 1.2]),
  label('5V', [170, RAIL_Y - 1.2]),
  label('GND', [180, GROUND_Y - 1.2]),
  label('GND', [110, GROUND_Y - 1.2]),
  label('DATA', [54, 98.8]),
  label('SDA', [157, 58.8]),
  label('SCL', [157, 66.8]),
  label('MARK', [126, 80.8]),
  label('USB_D-', [180, 20.8]),
  label('USB_D+', [180, 25.8]),
  label('5V_USB', [180, 30.8]),
  label('12V', [248, 105.5]),
  label('12V_FUSED', [248, 89]),
  label('5V_PLUG', [248, 66.8]),
  label('VBAT', [221, 100.8]),
];
