import { describe, expect, test } from 'vitest';
import { openEdges, outerSize, readStl, volume } from '../../tools/stl.js';
import { render, type Settings, WHY_NO_MODEL } from './openscad.js';

/** A print bed of common size, mm: common practice, no source. */
const BED_MM = 220;
/** With fewer corners to a circle than are printed: the same body, in half the time. */
const TILE = { part: 'tile', fine: 32 } as const;

function body(settings: Settings) {
  const { file, said } = render('stl', settings);
  if (!file) throw new Error(said);
  return { triangles: readStl(file.toString('latin1')), said };
}

describe.skipIf(WHY_NO_MODEL !== null)('`carrier.scad`', () => {
  // Sizes by hand from the model's settings: pitch = rim + 12; height = 12 + 8 + 6 + 1.6 + 12; dish = rim - 8 - 1, its collar 6 + 1.6 - 1;
  // post = shoulder 8.6 + 3, and from 8 below the floor to 38 above the ledge, which is 7.6 above the floor.
  test.each([
    ['four slots for 9 oz cups', TILE, [208, 208, 39.6]],
    ['the two slots that remain of ten', { ...TILE, tile_columns: 1 }, [104, 208, 39.6]],
    ['a slot for deli cups', { ...TILE, cup: 'deli' }, [129, 129, 39.6]],
    [
      'a slot for a cup of your own',
      { ...TILE, rim_mm: 100, tile_columns: 1, tile_rows: 1 },
      [112, 112, 39.6],
    ],
    ['a dish', { part: 'dish' }, [83, 83, 6.6]],
    ['a dish for deli cups', { part: 'dish', cup: 'deli' }, [108, 108, 6.6]],
    ['a post', { part: 'post' }, [11.6, 11.6, 53.6]],
  ] as const)('gives %s, closed, to size, for the bed', (_what, settings, size) => {
    const { triangles, said } = body(settings);
    expect(openEdges(triangles)).toEqual([]);
    expect(outerSize(triangles)).toEqual(size);
    expect(Math.max(...size.slice(0, 2))).toBeLessThanOrEqual(BED_MM);
    expect(volume(triangles)).toBeGreaterThan(0);
    expect(said).not.toContain('WARNING');
  });

  test('says the outer size of the whole', () => {
    expect(body({ part: 'dish' }).said).toContain(
      'outer_mm = [520, 208, 39.6], tile_columns = 2, tile_rows = 2',
    );
    expect(body({ part: 'dish', slots_per_row: 4, rows: 3 }).said).toContain('outer_mm = [416, 312, 39.6]');
  });

  test.each([
    [{ pitch_mm: 90 }, 'pitch_mm is 90 and the wells are 94 wide: make it at least 98'],
    [
      { rim_mm: 215 },
      'pitch_mm is 227 and the print bed 220: one slot does not fit; take the plywood variant',
    ],
    [{ rows: 4 }, '20 slots: a board reads 1 to 16 probes'],
    [{ sticky_tray_depth_mm: 2 }, 'sticky_tray_depth_mm is 2: below 3 the mesh touches the jelly'],
    [
      { probe_above_mesh_mm: 60 },
      'probe_above_mesh_mm is 60: keep the probe in the middle third of the cup, 26 to 52',
    ],
    [{ air_gap_mm: 5 }, 'air_gap_mm is 5: the dish keeps a wall of 1, at least 2 are needed'],
    [{ vents: 4 }, 'the air has 144 mm2 under the rim: bees need at least 200'],
    [{ finger_mm: 10 }, 'finger_mm is 10: the post of 8.6 needs at least 11.6'],
    [{ mite_gap_mm: 1 }, 'mite_gap_mm is 1: above 0.5 mites fall past the dish'],
    [{ post_bore_mm: 7 }, 'post_bore_mm is 7: the probe needs 5 and the post walls of 1'],
    [{ cable_channel_height_mm: 14 }, 'cable_channel_height_mm is 14: at most coil_height_mm, 12'],
    [{ part: 'lid' }, 'part is \\"lid\\": take tile, dish, post, assembly, cutaway, exploded or plywood'],
  ] as const)('refuses %j', (settings, sentence) => {
    const { file, said } = render('stl', { part: 'dish', ...settings });
    expect(file).toBeNull();
    expect(said.replaceAll('\\"', '"')).toContain(sentence.replaceAll('\\"', '"'));
  });
});

describe('the checks of a body', () => {
  const cube = readStl(
    // A tetrahedron with legs of 1, 2, 3 along the axes: volume 1 x 2 x 3 / 6 = 1.
    [
      ['0 0 0', '0 2 0', '1 0 0'],
      ['0 0 0', '1 0 0', '0 0 3'],
      ['0 0 0', '0 0 3', '0 2 0'],
      ['1 0 0', '0 2 0', '0 0 3'],
    ]
      .flat()
      .map((corner) => `vertex ${corner}`)
      .join('\n'),
  );

  test('pass a closed one', () => {
    expect(openEdges(cube)).toEqual([]);
    expect(outerSize(cube)).toEqual([1, 2, 3]);
    expect(volume(cube)).toBeCloseTo(1, 12);
  });

  test('find a triangle left out, one too many, one turned over', () => {
    expect(openEdges(cube.slice(1))).toHaveLength(3);
    expect(openEdges([...cube, cube[0]!])).not.toEqual([]);
    const [a, b, c] = cube[0]!;
    expect(openEdges([[a, c, b], ...cube.slice(1)])).not.toEqual([]);
  });
});
