import { describe, expect, it } from 'vitest';
import { carrierPicture, LEGEND } from '../../../src/cli/carrier/carrierPicture.js';
import { SHAPES } from '../../../src/cli/probe/probeWords.js';
import { parseBoardId, parseCupLabel } from '../../../src/units/ids.js';
import { seconds } from '../../../src/units/time.js';
import {
  type CarrierState,
  carrierStates,
  type ProbeWord,
  probeStates,
} from '../../../src/visit/probeStates.js';
import { foldSeason } from '../../../src/visit/season.js';
import {
  assigns,
  carrier,
  mapsPlaces,
  minute,
  otherRom,
  probeState,
  recorded,
} from '../../visit/situation.js';

const WORDS = Object.keys(SHAPES) as ProbeWord[];
const picture = (slots: number, change: Partial<CarrierState> = {}) =>
  carrierPicture(
    {
      carrier,
      board: null,
      bound: null,
      map: mapsPlaces(0.15, 3),
      prewarmMinutes: 13.6,
      slots: Array.from({ length: slots }, (_, index) => ({
        slot: index + 1,
        probe: probeState(index + 1, WORDS[index % WORDS.length]!),
        cup: index === 0 ? '260512-01' : null,
      })),
      ...change,
    },
    (ref) => (ref === 'a'.repeat(64) ? 'Rika' : 'a name withdrawn'),
  );
const cells = (line: string) => line.split('|').slice(1, -1);

describe('carrierPicture()', () => {
  it.each([1, 3, 5, 7, 10, 12, 16])('draws %i slots in boxes no wider than a terminal', (slots) => {
    const lines = picture(slots);
    for (const line of [...lines, ...LEGEND]) expect([...line].length).toBeLessThanOrEqual(79);
    const boxes = lines.filter((line) => /^[+|]/.test(line));
    // Seven lines a row of boxes, an edge above each, and one below the last.
    expect(boxes).toHaveLength(Math.ceil(slots / 5) * 8 + 1);
    for (const line of boxes.filter((each) => each.startsWith('|')))
      expect(cells(line).every((cell) => [...cell].length === 14)).toBe(true);
    const text = boxes.join('\n');
    for (let slot = 1; slot <= slots; slot += 1) expect(text).toContain(`| ${slot}  -1`);
  });

  it('fits ten slots and the legend into 24 lines with a line for the prompt', () => {
    expect(picture(10).length + LEGEND.length).toBeLessThanOrEqual(23);
  });

  it('gives every figure its unit, and the ice check its day', () => {
    const said = picture(1).filter((line) => line.startsWith('|'));
    expect(said.map((line) => cells(line)[0]?.trim())).toEqual([
      '1  -12.35 °C',
      '+ checked',
      'ice -0.300 °C',
      'on 2026-05-12',
      'U 0.858 °C',
      'lag 1240 s',
      'cup 260512-01',
    ]);
    const bare = picture(0, {
      slots: [
        { slot: 1, probe: probeState(1, 'clone?', { ice: null, lag: null, uncertainty: null }), cup: null },
        {
          slot: 2,
          probe: probeState(2, 'checked', {
            latest: { value: { rejected: 'crc' }, age: seconds(3) } as never,
          }),
          cup: null,
        },
      ],
    }).join('\n');
    for (const words of ['no ice check', 'U unknown', 'no lag', '| 2  unusable'])
      expect(bare).toContain(words);
  });

  it('tells long labels apart at their end', () => {
    const slots = [
      { slot: 1, probe: probeState(1, 'checked'), cup: parseCupLabel('2026-vehicle-07-cup-12')! },
    ];
    expect(picture(0, { slots }).join('\n')).toContain('| cup ..-cup-12|');
  });

  it('says each state in a word and a shape of its own kind, and shows an empty slot', () => {
    const text = picture(WORDS.length).join('\n');
    for (const word of WORDS) expect(text).toContain(`${SHAPES[word]} ${word}`);
    const empty = picture(0, { slots: [{ slot: 1, probe: null, cup: null }] }).join('\n');
    expect(empty).toContain('. no probe');
    // An old check and one by another board are both cautions; the others differ in shape as well.
    expect(new Set(Object.values(SHAPES)).size).toBe(WORDS.length - 1);
    for (const shape of Object.values(SHAPES)) expect(LEGEND[0]).toContain(`${shape} `);
  });

  it('tells the board and who paired it, the map and the advice, and what there is without them', () => {
    const board = parseBoardId('0A1B2C3D')!;
    const bound = (who: string | null) => ({ board, bound: { at: minute(0), who } });
    expect(picture(1, bound('a'.repeat(64)))[0]).toBe(
      'Carrier A, board 0A1B2C3D (paired 2026-05-12 by Rika): 1 probe, slot 1',
    );
    expect(picture(2, bound(null))[0]).toContain('(paired 2026-05-12): 2 probes, slots 1 to 2');
    expect(
      picture(2, bound('b'.repeat(64)))
        .slice(0, 2)
        .join(' '),
    ).toContain('by a name withdrawn');
    expect(picture(1)).toContain('pre-warm: its air warm for 14 min before the first cup');
    expect(picture(1).join('\n')).toContain('u_placement 0.150 °C');
    const bare = picture(1, { map: null, prewarmMinutes: null }).join('\n');
    expect(bare).toContain('places: not mapped, u_placement 0.289 °C (j)');
    expect(bare).not.toContain('pre-warm');
  });

  it('ends with the last slot that has a probe or a cup, whatever others had before', () => {
    const season = foldSeason(recorded(assigns(1), assigns(7, otherRom), assigns(3, otherRom, 5)));
    const probes = probeStates(season, [], () => null, minute(10));
    const [state] = carrierStates(season, probes, minute(10));
    const lines = carrierPicture(state!, () => '');
    expect(lines[0]).toBe('Carrier A, no board known: 2 probes, slots 1 to 3');
    expect(cells(lines[2]!).map((cell) => cell.trim())).toEqual(['1  -', '2', '3  -']);
  });
});
