import { describe, expect, it } from 'vitest';
import { certificate, probeRow, SHAPES } from '../../../src/cli/probe/probeWords.js';
import { textTable } from '../../../src/cli/textTable.js';
import type { ProbeWord } from '../../../src/visit/probeStates.js';
import { iceChecks, probeState } from '../../visit/situation.js';

const WORDS = Object.keys(SHAPES) as ProbeWord[];
describe('probeRow()', () => {
  it('fits a terminal for every state', () => {
    for (const line of textTable(WORDS.map((word) => probeRow(probeState(16, word)))))
      expect([...line].length).toBeLessThanOrEqual(79);
  });
});

describe('certificate()', () => {
  it('is one line with probe, offset, uncertainty, day, board and person', () => {
    expect(certificate(iceChecks(0.1474, 0), 'Rika')).toBe(
      '28-13-9B-BB-0B-00-00-1F ice +0.147 °C u 0.103 2026-05-12 board 0A1B2C3D by Rika',
    );
    expect(certificate(iceChecks(-0.2, 0), 'Rika')).toContain('ice -0.200 °C');
  });
});
