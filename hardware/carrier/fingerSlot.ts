import { mm } from '../wiring/picture.js';
import { fingerLength, MESH_MM } from './fingerMesh.js';
import { dimension, type FingerSizes, heading, type Panel, words } from './fingerPanel.js';

const SCALE = 0.55;
/** Where the floor of the carrier's base is on the page. */
const GROUND = 198;
const TOP = 108;

const MESH = 'fill="none" stroke="#000" stroke-width="0.5" stroke-dasharray="1 0.7"';
const SOLID = 'fill="#fff" stroke="#000" stroke-width="0.35"';

/** Draws to scale around a middle, heights in mm above the base board. */
interface Frame {
  readonly x: (across: number) => number;
  readonly y: (height: number) => number;
}

const frameAt = (middle: number, ground = GROUND): Frame => ({
  x: (across) => middle + across * SCALE,
  y: (height) => ground - height * SCALE,
});

/** A closed shape through points in mm. */
function shape({ x, y }: Frame, style: string, ...points: readonly (readonly [number, number])[]): string {
  return `<path ${style} d="M${points.map(([across, height]) => `${mm(x(across))} ${mm(y(height))}`).join('L')}Z"/>`;
}

/** How the probe gets into the cup: set down, seated, washed. */
export function slotPanels(sizes: FingerSizes): Panel[] {
  return [setDownPanel(sizes), seatedPanel(sizes), washPanel(sizes)];
}

/** The slot, cut open: tile, dish with its collar, post with the probe in its tip, and the lead. */
function slotShapes(frame: Frame, sizes: FingerSizes): string[] {
  const { rim_mm, floor_mm, ledge_at_mm, height_mm, coil_height_mm, dish_mm } = sizes;
  const [well, hole, edge] = [rim_mm / 2 + 1, rim_mm / 2 - 4, rim_mm / 2 + 6];
  const post = sizes.post_mm / 2;
  const tip = ledge_at_mm + sizes.probe_above_mesh_mm;
  const grey = 'fill="#ddd" stroke="#000" stroke-width="0.35"';
  const sides = [-1, 1].map((side) =>
    shape(
      frame,
      grey,
      [side * edge, 0],
      [side * edge, height_mm],
      [side * well, height_mm],
      [side * well, ledge_at_mm],
      [side * hole, ledge_at_mm],
      [side * hole, floor_mm],
      [side * post, floor_mm],
      [side * post, coil_height_mm],
      [side * 23, 0],
    ),
  );
  const collar = sizes.shoulder_mm / 2 + 0.3;
  const dish = [-1, 1].map((side) =>
    shape(
      frame,
      SOLID,
      [(side * dish_mm) / 2, floor_mm],
      [(side * dish_mm) / 2, floor_mm + sizes.dish_height_mm],
      [side * (dish_mm / 2 - sizes.dish_wall_mm), floor_mm + sizes.dish_height_mm],
      [side * (dish_mm / 2 - sizes.dish_wall_mm), floor_mm + sizes.dish_wall_mm],
      [side * (collar + sizes.dish_wall_mm), floor_mm + sizes.dish_wall_mm],
      [side * (collar + sizes.dish_wall_mm), floor_mm + sizes.dish_room_mm - 1],
      [side * (post + 0.4), floor_mm + sizes.dish_room_mm - 1],
      [side * collar, floor_mm],
    ),
  );
  const { x, y } = frame;
  return [
    ...sides,
    ...dish,
    shape(
      frame,
      SOLID,
      [-post, coil_height_mm],
      [-post, tip - 2],
      [-post + 1.5, tip],
      [post - 1.5, tip],
      [post, tip - 2],
      [post, coil_height_mm],
    ),
    // The probe is a dark block in the cage; its lead hangs down into the channel.
    shape(
      frame,
      'fill="#000" stroke="none"',
      [-2.3, tip - 6],
      [-2.3, tip - 1.5],
      [2.3, tip - 1.5],
      [2.3, tip - 6],
    ),
    `<path fill="none" stroke="#000" stroke-width="0.5" d="M${mm(x(0))} ${mm(y(tip - 6))}V${mm(y(5))}Q${mm(x(0))} ${mm(y(2))} ${mm(x(8))} ${mm(y(2))}H${mm(x(22))}"/>`,
    `<path stroke="#000" stroke-width="0.6" d="M${mm(x(-edge - 3))} ${mm(y(0))}H${mm(x(edge + 3))}"/>`,
  ];
}

/** A cup upside down, its mesh `height` above the base board, with the finger of its lid. */
function cupShapes(frame: Frame, sizes: FingerSizes, height: number): string[] {
  const { rim_mm, cup_height_mm, cup_bottom_mm, finger_mm } = sizes;
  const { x, y } = frame;
  const f = finger_mm / 2;
  const tip = height + fingerLength() + MESH_MM.fold;
  const line = (points: readonly (readonly [number, number])[]) =>
    points.map(([across, up]) => `${mm(x(across))} ${mm(y(up))}`).join('L');
  return [
    `<path fill="none" stroke="#000" stroke-width="0.6" d="M${line([
      [-rim_mm / 2, height],
      [-cup_bottom_mm / 2, height + cup_height_mm],
      [cup_bottom_mm / 2, height + cup_height_mm],
      [rim_mm / 2, height],
    ])}"/>`,
    `<path ${MESH} d="M${line([
      [-rim_mm / 2, height],
      [-f, height],
      [-f, tip - 5],
      [-f - 3, tip],
      [f + 3, tip],
      [f, tip - 5],
      [f, height],
      [rim_mm / 2, height],
    ])}"/>`,
    ...BEES.map(([across, up, turn]) => bee(x(across), y(height + up), turn)),
  ];
}

/** Where the drawn bees sit: mm from the middle, mm above the mesh, and how they are turned. */
const BEES: readonly (readonly [across: number, up: number, turn: number])[] = [
  [-36, 4, 0],
  [-26, 4, 10],
  [-16, 4, -8],
  [16, 4, 5],
  [27, 4, -10],
  [37, 4, 0],
  [-31, 11, -15],
  [-20, 12, 12],
  [22, 12, 8],
  [33, 11, -12],
  [-27, 20, 20],
  [26, 21, -20],
  [-12, 24, 80],
  [12, 30, 95],
];

function bee(x: number, y: number, turn: number): string {
  return `<g transform="translate(${mm(x)} ${mm(y)}) rotate(${turn})"><ellipse rx="2.1" ry="0.95" fill="#fff" stroke="#000" stroke-width="0.25"/><path d="M-0.3 -0.9V0.9M0.5 -0.9V0.9M1.2 -0.75V0.75" stroke="#000" stroke-width="0.35"/></g>`;
}

/** A gloved hand around the cup's bottom: fingers on both sides, the palm above. */
function glove({ x, y }: Frame, { cup_bottom_mm, cup_height_mm }: FingerSizes, height: number): string {
  const top = height + cup_height_mm;
  const half = cup_bottom_mm / 2;
  const point = (across: number, up: number) => `${mm(x(across))} ${mm(y(up))}`;
  return [
    `<path fill="#fff" stroke="#000" stroke-width="0.4" stroke-linejoin="round" d="M${point(-half - 6, top - 30)}`,
    `Q${point(-half - 13, top - 28)} ${point(-half - 9, top - 14)}L${point(-half - 6, top + 2)}Q${point(-half - 2, top + 12)} ${point(-8, top + 13)}`,
    `L${point(-8, top + 30)}H${mm(x(16))}L${point(16, top + 13)}Q${point(half + 4, top + 12)} ${point(half + 7, top + 2)}`,
    `L${point(half + 11, top - 12)}Q${point(half + 14, top - 26)} ${point(half + 7, top - 27)}`,
    `Q${point(half + 3, top - 26)} ${point(half + 3, top - 14)}L${point(half + 1, top)}H${mm(x(-half))}`,
    `L${point(-half - 3, top - 14)}Q${point(-half - 2, top - 27)} ${point(-half - 6, top - 30)}Z"/>`,
    `<path fill="none" stroke="#000" stroke-width="0.4" d="M${point(-10, top + 24)}H${mm(x(18))}"/>`,
  ].join('');
}

/** A thin line from a word to what it names. */
const leader = (...points: readonly (readonly [number, number])[]): string =>
  `<path fill="none" stroke="#000" stroke-width="0.2" d="M${points.map(([x, y]) => `${mm(x)} ${mm(y)}`).join('L')}"/>`;

/** 5: the cup on its way down. */
function setDownPanel(sizes: FingerSizes): Panel {
  const frame = frameAt(48);
  const height = sizes.ledge_at_mm + sizes.probe_above_mesh_mm - 14;
  return {
    shapes: [
      ...slotShapes(frame, sizes),
      ...cupShapes(frame, sizes, height),
      glove(frame, sizes, height),
      '<path fill="none" stroke="#000" stroke-width="1" d="M80 128V152M76.5 147L80 152.5L83.5 147"/>',
    ],
    texts: [
      heading([10, TOP], '5 Set the cup down'),
      ...words(
        [86, TOP + 22],
        'One movement of',
        'one gloved hand:',
        'the finger goes',
        'over the post.',
        'Nothing to open,',
        'plug or forget.',
        'Lifting is the',
        'same way back.',
      ),
    ],
  };
}

/** Where the names of things begin in panel 6. */
const NAMES_X = 186;

/** 6: the cup in its slot. */
function seatedPanel(sizes: FingerSizes): Panel {
  const frame = frameAt(150);
  const { x, y } = frame;
  const tip = sizes.ledge_at_mm + sizes.probe_above_mesh_mm;
  const side = -sizes.rim_mm / 2 - 10;
  const above = dimension(
    [x(side), y(sizes.ledge_at_mm)],
    [x(side), y(tip)],
    String(sizes.probe_above_mesh_mm),
    [x(side) - 3.6, y((sizes.ledge_at_mm + tip) / 2)],
  );
  /** What a thin line from the right leads to. */
  const named = (line: string, at: number, across: number, height: number): Panel => ({
    shapes: [leader([NAMES_X - 1, at - 1], [x(across), y(height)])],
    texts: words([NAMES_X, at], line),
  });
  const names = [
    named('finger', 142, sizes.finger_mm / 2, tip + 3),
    named('probe', 151, 2.3, tip - 3),
    named('its post', 160, sizes.post_mm / 2, tip - 20),
    named('lid', 169, sizes.rim_mm / 2 - 3, sizes.ledge_at_mm),
    named('dish', 181, sizes.dish_mm / 2 - 3, sizes.floor_mm + 0.8),
    named('lead', 195, 22, 2),
  ];
  return {
    shapes: [
      ...slotShapes(frame, sizes),
      ...cupShapes(frame, sizes, sizes.ledge_at_mm),
      ...above.shapes,
      ...names.flatMap(({ shapes }) => shapes),
    ],
    texts: [
      heading([118, TOP], '6 It rides'),
      ...above.texts,
      ...names.flatMap(({ texts }) => texts),
      ...words(
        [118, TOP + 6],
        'The probe is in the air that the bees share, in',
        'the middle third. Mesh and cage keep bees off it',
        'and in the cup; mites fall onto dish and collar,',
        'both coated with petroleum jelly.',
      ),
    ],
  };
}

/** 7: the cup upright with alcohol, far from the carrier. */
function washPanel(sizes: FingerSizes): Panel {
  const { rim_mm, cup_height_mm, cup_bottom_mm, finger_mm } = sizes;
  const ground = 172;
  const frame = frameAt(250, ground);
  const { x, y } = frame;
  const f = finger_mm / 2;
  const point = (across: number, up: number) => `${mm(x(across))} ${mm(y(up))}`;
  const widthAt = (up: number) => cup_bottom_mm / 2 + ((rim_mm - cup_bottom_mm) / 2) * (up / cup_height_mm);
  const level = 50;
  const tip = cup_height_mm - fingerLength() - MESH_MM.fold;
  return {
    shapes: [
      shape(
        frame,
        'fill="#ddd" stroke="none"',
        [-cup_bottom_mm / 2, 0],
        [-widthAt(level), level],
        [widthAt(level), level],
        [cup_bottom_mm / 2, 0],
      ),
      `<path fill="none" stroke="#000" stroke-width="0.6" d="M${point(-rim_mm / 2, cup_height_mm)}L${point(-cup_bottom_mm / 2, 0)}L${point(cup_bottom_mm / 2, 0)}L${point(rim_mm / 2, cup_height_mm)}"/>`,
      `<path fill="none" stroke="#000" stroke-width="0.25" d="M${point(-widthAt(level), level)}L${point(widthAt(level), level)}"/>`,
      `<path ${MESH} d="M${point(-rim_mm / 2, cup_height_mm)}L${point(-f, cup_height_mm)}L${point(-f, tip + 5)}L${point(-f - 3, tip)}L${point(f + 3, tip)}L${point(f, tip + 5)}L${point(f, cup_height_mm)}L${point(rim_mm / 2, cup_height_mm)}"/>`,
      ...WASHED.map(([across, up, turn]) => bee(x(across), y(up), turn)),
      `<path stroke="#000" stroke-width="0.6" d="M${mm(x(-rim_mm / 2 - 3))} ${ground}H${mm(x(rim_mm / 2 + 3))}"/>`,
    ],
    texts: [
      heading([214, TOP], '7 Alcohol comes later, and elsewhere'),
      ...words(
        [214, ground + 8],
        'The cup has left the carrier, the probe stayed:',
        'alcohol never meets it. The port is mesh like',
        'the lid, the cup itself has no hole.',
        'Outdoors, 3 m from smoker, engine, electronics:',
        'it can be lit at every temperature of the test.',
      ),
    ],
  };
}

const WASHED: readonly (readonly [across: number, up: number, turn: number])[] = [
  [-20, 4, 0],
  [-8, 4, 20],
  [6, 4, -10],
  [19, 4, 5],
  [-14, 11, -20],
  [0, 12, 0],
  [14, 11, 15],
  [-24, 15, 40],
  [24, 16, -35],
  [-16, 20, 10],
  [17, 21, -10],
];
