import { describe, expect, it } from 'vitest';
import { carrierPicture, certificate, probeRow, SHAPES } from '../../src/cli/probeWords.js';
import { textTable } from '../../src/cli/textTable.js';
import { celsius, celsiusDifference } from '../../src/units/temperature.js';
import { seconds } from '../../src/units/time.js';
import type { CarrierState, ProbeState, ProbeWord } from '../../src/visit/probeStates.js';
import { carrier, iceChecks, inventedRom, mapsPlaces, measuresLag } from '../visit/situation.js';

const WORDS = Object.keys(SHAPES) as ProbeWord[];
const probe = (slot: number, word: ProbeWord): ProbeState => ({
  rom: inventedRom(slot),
  place: { carrier, slot },
  board: null,
  latest: { value: celsius(-12.345), age: seconds(3) },
  word,
  ice: iceChecks(-0.3005, 1),
  lag: measuresLag(1240, 2),
  uncertainty: celsiusDifference(0.858),
  cautions: [],
});
const picture = (slots: number, change: Partial<CarrierState> = {}) =>
  carrierPicture({
    carrier,
    board: null,
    map: mapsPlaces(0.15, 3),
    prewarmMinutes: 13.6,
    slots: Array.from({ length: slots }, (_, index) => ({
      slot: index + 1,
      probe: probe(index + 1, WORDS[index % WORDS.length]!),
      cup: index === 0 ? '260512-01' : null,
    })),
    ...change,
  });

describe('carrierPicture()', () => {
  it.each([1, 3, 5, 7, 10, 12, 16])('draws %i slots in boxes no wider than a terminal', (slots) => {
    const lines = picture(slots);
    for (const line of lines) expect([...line].length).toBeLessThanOrEqual(79);
    const boxes = lines.filter((line) => /^[+|]/.test(line));
    // Six lines a row of boxes, an edge above each, and one below the last.
    expect(boxes).toHaveLength(Math.ceil(slots / 5) * 7 + 1);
    for (const line of boxes.filter((each) => each.startsWith('|')))
      expect(
        line
          .split('|')
          .slice(1, -1)
          .every((cell) => [...cell].length === 14),
      ).toBe(true);
    const text = boxes.join('\n');
    for (let slot = 1; slot <= slots; slot += 1) expect(text).toContain(`| ${slot}  -1`);
  });

  it('says each state in a word and a shape of its own kind, and shows an empty slot', () => {
    const text = picture(WORDS.length).join('\n');
    for (const word of WORDS) expect(text).toContain(`${SHAPES[word]} ${word}`);
    const empty = picture(0, { slots: [{ slot: 1, probe: null, cup: null }] }).join('\n');
    expect(empty).toContain('. no probe');
    // An old check and one by another board are both cautions; the others differ in shape as well.
    expect(new Set(Object.values(SHAPES)).size).toBe(WORDS.length - 1);
  });

  it('tells the map and the advice, and what there is without them', () => {
    expect(picture(1)).toContain('pre-warm: its air warm for 14 min before the first cup');
    expect(picture(1).join('\n')).toContain('u_placement 0.150 °C');
    const bare = picture(1, { map: null, prewarmMinutes: null }).join('\n');
    expect(bare).toContain('places: not mapped, u_placement 0.289 °C (j)');
    expect(bare).not.toContain('pre-warm');
  });
});

describe('probeRow()', () => {
  it('fits a terminal for every state', () => {
    for (const line of textTable(WORDS.map((word) => probeRow(probe(16, word)))))
      expect([...line].length).toBeLessThanOrEqual(79);
  });
});

describe('certificate()', () => {
  it('is one line with probe, offset, uncertainty, day, board and person', () => {
    expect(certificate(iceChecks(0.1474, 0), 'Rika')).toBe(
      '28-13-9B-BB-0B-00-00-1F ice +0.147 °C u 0.103 2026-05-12 board 0A1B2C3D by Rika',
    );
    expect(certificate(iceChecks(-0.2, 0), null)).toContain('ice -0.200 °C');
    expect(certificate(iceChecks(0, 0), null)).toMatch(/by \(withdrawn\)$/);
  });
});
