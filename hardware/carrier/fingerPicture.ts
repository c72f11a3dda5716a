import { text } from '../wiring/drawing.js';
import { crowded, type Lettering, letteringElement, level } from '../wiring/perfboardView.js';
import { meshPanels } from './fingerMesh.js';
import { type FingerSizes, words } from './fingerPanel.js';
import { slotPanels } from './fingerSlot.js';

/** A4 lying. */
const PAGE_MM = { width: 297, height: 210 } as const;

/** How a lid's mesh finger is made, and how a probe enters a cup through it: an SVG page, A4 lying, black on white. */
export function fingerPicture(sizes: FingerSizes): string {
  const panels = [...meshPanels(sizes), ...slotPanels(sizes)];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${PAGE_MM.width}mm" height="${PAGE_MM.height}mm" viewBox="0 0 ${PAGE_MM.width} ${PAGE_MM.height}" font-family="Helvetica, Arial, 'DejaVu Sans', sans-serif">`,
    `<rect width="${PAGE_MM.width}" height="${PAGE_MM.height}" fill="#fff"/>`,
    ...panels.flatMap(({ shapes }) => shapes),
    ...[...panels.flatMap(({ texts }) => texts), ...frameTexts()].map(letteringElement),
    '</svg>',
    '',
  ].join('\n');
}

/** Words that lie on words, or off the page; one sentence each. */
export function checkFingerPicture(sizes: FingerSizes, more: readonly Lettering[] = []): string[] {
  const texts = [...meshPanels(sizes), ...slotPanels(sizes)].flatMap((panel) => panel.texts);
  const edge = { what: 'the edge of the page', top: -50, bottom: 300 };
  return crowded(
    [...texts, ...frameTexts(), ...more],
    [
      { ...edge, left: -50, right: 6 },
      { ...edge, left: PAGE_MM.width - 6, right: 400 },
    ],
  );
}

function frameTexts(): Lettering[] {
  return [
    level(
      text("The port of a lid: a finger of mesh, and the probe's way into the cup", [10, 13], 5, {
        anchor: 'start',
        isBold: true,
      }),
    ),
    ...words(
      [10, 18.5],
      'Nothing here has run on physical hardware yet. All sizes in mm, from the model for 9 oz cups. Broken lines: mesh, 8 to the inch, opening 2.7.',
    ),
    ...words([10, 205], 'Drawn from hardware/carrier/carrier.scad by npm run drawings.'),
  ];
}
