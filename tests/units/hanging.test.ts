import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hanging } from '../../src/units/hanging.js';

describe('hanging()', () => {
  it('leaves alone what fits', () => {
    expect(hanging('  four words in here', 20)).toEqual(['  four words in here']);
  });

  it('indents what follows a break two further than the beginning', () => {
    expect(hanging('  from 45 mites on trays and 15 washed off', 26)).toEqual([
      '  from 45 mites on trays',
      '    and 15 washed off',
    ]);
  });

  it('puts it under the text when a label stands before that', () => {
    expect(hanging(' 4 tray        mites that fell onto the tray of a cup', 45)).toEqual([
      ' 4 tray        mites that fell onto the tray',
      '               of a cup',
    ]);
    expect(hanging('+           alarms are seen: silent until something new', 40)).toEqual([
      '+           alarms are seen: silent',
      '            until something new',
    ]);
  });

  it('but not when the label takes more than a third of the line', () => {
    expect(hanging('amitraz strip, lot  P-2214 and more', 24)).toEqual([
      'amitraz strip, lot',
      '  P-2214 and more',
    ]);
  });

  it('keeps a number and its percent sign together', () => {
    expect(hanging('between 54.5 % and 88.2 %', 24)).toEqual(['between 54.5 % and', '  88.2 %']);
    expect(hanging('between 54.5 % and 88.2 percent', 24)).toEqual(['between 54.5 % and', '  88.2 percent']);
  });

  it('breaks a word that is longer than a line', () => {
    expect(hanging(`see ${'x'.repeat(30)}`, 24)).toEqual([`see ${'x'.repeat(18)}`, `  ${'x'.repeat(12)}`]);
  });

  it('loses no word and no line is too long', () => {
    const words = fc.array(fc.stringMatching(/^[a-z0-9%]{1,9}$/), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(words, fc.integer({ min: 24, max: 80 }), fc.nat(4), (all, columns, indent) => {
        const lines = hanging(' '.repeat(indent) + all.join(' '), columns);
        expect(lines.join(' ').split(/\s+/).filter(Boolean)).toEqual(all);
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(columns);
      }),
    );
  });
});
