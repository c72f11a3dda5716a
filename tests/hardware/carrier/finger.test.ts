import { describe, expect, test } from 'vitest';
import { fingerLength } from '../../../hardware/carrier/fingerMesh.js';
import { type FingerSizes, readFingerSizes } from '../../../hardware/carrier/fingerPanel.js';
import { checkFingerPicture, fingerPicture } from '../../../hardware/carrier/fingerPicture.js';
import { text } from '../../../hardware/wiring/drawing.js';
import { level } from '../../../hardware/wiring/perfboardView.js';
import { render, WHY_NO_MODEL } from './openscad.js';

/** The sizes of `carrier.scad` for 9 oz cups; the first test below holds them equal. */
const SIZES: FingerSizes = {
  rim_mm: 92,
  cup_height_mm: 78,
  cup_bottom_mm: 62,
  finger_mm: 13,
  post_mm: 8.6,
  shoulder_mm: 11.6,
  probe_above_mesh_mm: 38,
  floor_mm: 20,
  ledge_at_mm: 27.6,
  height_mm: 39.6,
  coil_height_mm: 12,
  dish_mm: 83,
  dish_height_mm: 4.6,
  dish_wall_mm: 1.6,
  dish_room_mm: 7.6,
};

// `npm run drawings` writes the picture; without -u this compares it.
test.skipIf(WHY_NO_MODEL !== null)('`finger.svg` is drawn from the sizes of the model', async () => {
  const sizes = readFingerSizes(render('svg', { part: 'plywood', fine: 8 }).said);
  expect(sizes).toEqual(SIZES);
  await expect(fingerPicture(sizes)).toMatchFileSnapshot('../../../hardware/carrier/finger.svg');
});

describe('`fingerPicture()`', () => {
  test('is black and grey on white, A4, with letters of at least 2.8 mm', () => {
    const svg = fingerPicture(SIZES);
    expect(svg).toContain('width="297mm" height="210mm"');
    expect([...new Set(svg.match(/fill="[^"]+"/g))].sort()).toEqual([
      'fill="#000"',
      'fill="#ddd"',
      'fill="#fff"',
      'fill="none"',
    ]);
    const letters = [...svg.matchAll(/font-size="([\d.]+)"/g)].map(([, size]) => Number(size));
    expect(Math.min(...letters)).toBeGreaterThanOrEqual(2.8); // readable in print: judgement
  });

  test('refuses a finger that is too short for the probe, or mesh too narrow for the finger', () => {
    expect(fingerLength()).toBe(42); // by hand: 65 - 8 - 3 x 5
    expect(() => fingerPicture({ ...SIZES, probe_above_mesh_mm: 40 })).toThrow(
      'the finger is 42 mm long inside and the probe 40 mm above the mesh: cut the mesh longer',
    );
    expect(() => fingerPicture({ ...SIZES, finger_mm: 16 })).toThrow('needs more than 50 mm of mesh');
  });
});

describe('`checkFingerPicture()`', () => {
  test('finds no words on others or off the page', () => {
    expect(checkFingerPicture(SIZES)).toEqual([]);
  });

  test('finds those that are (negative control)', () => {
    const found = checkFingerPicture(SIZES, [
      level(text('Words', [12, 13], 3)),
      level(text('Words', [296, 60], 3)),
    ]);
    expect(found.some((sentence) => sentence.endsWith('lies on "Words"'))).toBe(true);
    expect(found).toContain('"Words" lies on the edge of the page');
  });
});
