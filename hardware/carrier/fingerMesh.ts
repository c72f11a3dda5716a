import { mm } from '../wiring/picture.js';
import { dimension, type FingerSizes, heading, type Panel, words } from './fingerPanel.js';

/** The finger's piece of mesh, mm: docs/build.md, step 10. Round the rod with an overlap for the seam; tabs, finger, fold. */
export const MESH_MM = { wide: 50, long: 65, tabs: 8, fold: 5 } as const;
/** What is left between the tabs and the fold. */
export const fingerLength = (): number => MESH_MM.long - MESH_MM.tabs - 3 * MESH_MM.fold;
/** Above the probe, so that it does not touch: judgement. */
const TIP_GAP_MM = 3;

const TOP = 26;
const MESH = 'fill="none" stroke="#000" stroke-width="0.5" stroke-dasharray="1 0.7"';
const THIN = 'fill="none" stroke="#000" stroke-width="0.25"';

/**
 * The making of a finger, four panels in a row.
 *
 * @throws {Error} when the finger is too short for the probe or too narrow for the post
 */
export function meshPanels(sizes: FingerSizes): Panel[] {
  const length = fingerLength();
  if (length < sizes.probe_above_mesh_mm + TIP_GAP_MM)
    throw new Error(
      `the finger is ${length} mm long inside and the probe ${sizes.probe_above_mesh_mm} mm above the mesh: cut the mesh longer`,
    );
  if (Math.PI * sizes.finger_mm >= MESH_MM.wide)
    throw new Error(`a finger of ${sizes.finger_mm} mm needs more than ${MESH_MM.wide} mm of mesh around it`);
  return [cutPanel(sizes), rollPanel(sizes), foldPanel(sizes), lidPanel(sizes)];
}

/** 1: two pieces of a strip of mesh. */
function cutPanel({ rim_mm, finger_mm }: FingerSizes): Panel {
  const scale = 0.36;
  const [x, y] = [12, TOP + 8];
  const [wide, round] = [(rim_mm + 18) * scale, rim_mm * scale];
  const [px, py] = [x + 4, y + round + 4];
  const [pw, pl] = [MESH_MM.wide * scale, MESH_MM.long * scale];
  const across = dimension([px, py + pl + 2.5], [px + pw, py + pl + 2.5], String(MESH_MM.wide), [
    px + pw / 2,
    py + pl + 6,
  ]);
  const along = dimension([px + pw + 2.5, py], [px + pw + 2.5, py + pl], String(MESH_MM.long), [
    px + pw + 6.5,
    py + pl / 2 + 1,
  ]);
  return {
    shapes: [
      `<circle ${MESH} cx="${mm(x + wide / 2)}" cy="${mm(y + round / 2)}" r="${mm(round / 2)}"/>`,
      `<circle ${THIN} cx="${mm(x + wide / 2)}" cy="${mm(y + round / 2)}" r="${mm((finger_mm / 2) * scale)}"/>`,
      `<rect ${MESH} x="${mm(px)}" y="${mm(py)}" width="${mm(pw)}" height="${mm(pl)}"/>`,
      ...across.shapes,
      ...along.shapes,
    ],
    texts: [
      heading([10, TOP + 3], '1 Cut'),
      ...words(
        [x + wide + 2, y + 6],
        `a round for`,
        `the lid's ring,`,
        `a hole of ${finger_mm}`,
        'in its middle',
      ),
      ...across.texts,
      ...along.texts,
      ...words([px + pw + 10, py + pl - 9], 'a piece for', 'the finger:', 'file its edges'),
    ],
  };
}

/** 2: the piece rolled around a rod, its seam laced. */
function rollPanel({ finger_mm }: FingerSizes): Panel {
  const scale = 0.8;
  const [x, y] = [92, TOP + 10];
  const [wide, long] = [finger_mm * scale, MESH_MM.long * scale];
  const lacing = Array.from({ length: 9 }, (_, index) => {
    const at = y + 4 + index * ((long - 8) / 8);
    return `M${mm(x + wide / 2 - 1)} ${mm(at - 1)}l2 2`;
  });
  return {
    shapes: [
      `<rect ${THIN} x="${mm(x + 1)}" y="${mm(y - 5)}" width="${mm(wide - 2)}" height="${mm(long + 10)}" rx="1"/>`,
      `<rect x="${mm(x)}" y="${mm(y)}" width="${mm(wide)}" height="${mm(long)}" fill="#fff" stroke="none"/>`,
      `<rect ${MESH} x="${mm(x)}" y="${mm(y)}" width="${mm(wide)}" height="${mm(long)}"/>`,
      `<path ${THIN} d="M${mm(x + wide / 2)} ${mm(y)}V${mm(y + long)}"/>`,
      `<path fill="none" stroke="#000" stroke-width="0.4" d="${lacing.join('')}"/>`,
    ],
    texts: [
      heading([80, TOP + 3], '2 Roll'),
      ...words([x + wide + 3, y + 2], `rod of ${finger_mm}`),
      ...words([x + wide + 3, y + 18], 'one edge over', 'the other,', 'laced with', 'one strand', 'of wire'),
    ],
  };
}

/** 3: tabs at the open end, the other folded shut. */
function foldPanel({ finger_mm }: FingerSizes): Panel {
  const scale = 0.9;
  const [x, y] = [147, TOP + 10];
  const wide = finger_mm * scale;
  const [tabs, length, fold] = [MESH_MM.tabs * scale, fingerLength() * scale, MESH_MM.fold * scale];
  const [left, right] = [x, x + wide];
  const flat = 0.3 * wide;
  const shut = y + tabs + length;
  const slits = [0.2, 0.5, 0.8].map((part) => `M${mm(left + part * wide)} ${mm(y)}v${mm(tabs)}`);
  const sizes = [
    dimension([right + 3, y], [right + 3, y + tabs], String(MESH_MM.tabs), [right + 6.5, y + tabs / 2 + 1]),
    dimension([right + 3, y + tabs], [right + 3, shut], String(fingerLength()), [
      right + 7,
      y + tabs + length / 2 + 1,
    ]),
    dimension([right + 7.4, shut], [right + 7.4, shut + fold], String(MESH_MM.fold), [
      right + 10.4,
      shut + fold / 2 + 1,
    ]),
  ];
  return {
    shapes: [
      `<path ${MESH} d="M${mm(left)} ${mm(y)}V${mm(shut - 3)}L${mm(left - flat)} ${mm(shut)}v${mm(fold)}H${mm(right + flat)}v${mm(-fold)}L${mm(right)} ${mm(shut - 3)}V${mm(y)}Z"/>`,
      `<path ${THIN} d="M${mm(left - flat)} ${mm(shut)}H${mm(right + flat)}M${mm(left - flat)} ${mm(shut + fold * 0.4)}H${mm(right + flat)}"/>`,
      `<path fill="none" stroke="#000" stroke-width="0.4" d="${slits.join('')}"/>`,
      ...sizes.flatMap(({ shapes }) => shapes),
    ],
    texts: [
      heading([137, TOP + 3], '3 Shut one end, slit the other'),
      ...sizes.flatMap(({ texts }) => texts),
      ...words([right + 10, y + 2], `six slits:`, 'tabs'),
      ...words(
        [right + 13.5, shut - 9],
        'pinched flat, folded',
        `over by ${MESH_MM.fold} twice; then the`,
        'rod again, so that it is',
        'round down to here',
      ),
    ],
  };
}

/** 4: the finger through the lid, cut open; the inside of the cup is above. */
function lidPanel({ rim_mm, finger_mm }: FingerSizes): Panel {
  const scale = 0.62;
  const middle = 250;
  const y = TOP + 52;
  const [half, f] = [(rim_mm / 2) * scale, (finger_mm / 2) * scale];
  const tip = y - (fingerLength() + MESH_MM.fold) * scale;
  const tab = MESH_MM.tabs * scale;
  return {
    shapes: [
      `<path ${MESH} d="M${mm(middle - half)} ${mm(y)}H${mm(middle - f)}M${mm(middle + f)} ${mm(y)}H${mm(middle + half)}"/>`,
      `<path ${MESH} d="M${mm(middle - f - tab)} ${mm(y + 1.2)}H${mm(middle - f)}V${mm(tip + 4)}L${mm(middle - f - 2)} ${mm(tip + 2)}V${mm(tip)}H${mm(middle + f + 2)}V${mm(tip + 2)}L${mm(middle + f)} ${mm(tip + 4)}V${mm(y + 1.2)}H${mm(middle + f + tab)}"/>`,
      `<path fill="none" stroke="#000" stroke-width="1" d="M${mm(middle - half)} ${mm(y - 3)}v4M${mm(middle + half)} ${mm(y - 3)}v4"/>`,
      ...[-1, 1].map(
        (side) =>
          `<path ${THIN} d="M${mm(middle + side * (f + tab * 0.6) - 0.6)} ${mm(y - 1)}v3.2h1.2v-3.2Z"/>`,
      ),
    ],
    texts: [
      heading([214, TOP + 3], '4 Put it through the lid'),
      ...words([214, TOP + 12], 'inside', 'of the cup'),
      ...words(
        [214, y + 7.5],
        'From outside. Six tabs flat on the lid, laced;',
        'its round laced to the ring. Nowhere a gap',
        'that lets the shank of a 3.2 drill through.',
      ),
    ],
  };
}
