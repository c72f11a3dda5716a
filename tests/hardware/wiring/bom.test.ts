import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { checkBom, quantity, readBom } from '../../../hardware/wiring/bom.js';
import { Refusal } from '../../../src/units/refusal.js';
import { at, CARRIER, changed } from './files.js';

const BOM = 'hardware/bom.csv';
const TEXT = readFileSync(BOM, 'utf8');
const lineOf = (words: string) => TEXT.split('\n').findIndex((line) => line.startsWith(words)) + 1;

/** The list of parts with one thing changed. */
function altered(from: string, to: string): string {
  if (!TEXT.includes(from)) throw new Error(`nothing to change: ${from}`);
  return TEXT.replace(from, () => to);
}

describe('`checkBom()`', () => {
  it('finds the list of parts equal to the netlist', () => {
    expect(checkBom(readBom(TEXT, BOM), CARRIER, BOM)).toEqual([]);
  });

  it('and for another number of slots too', () => {
    const three = changed(['slots 10', 'slots 3']);
    expect(checkBom(readBom(TEXT, BOM), three, BOM)).toEqual([]);
  });

  it.each([
    [
      'a part left out',
      /^R5,.*\n/m,
      `R5 of ${at('part R5').replace(': ', '')}, is missing; add a row for it`,
    ],
    ['a part that the netlist has not', 'R5,', `line ${lineOf('R5,')}: the netlist has no R55; mend the ref`],
    [
      'another value',
      'bus,2.2 kOhm',
      `line ${lineOf('R1,')}: R1 is "2.2 kOhm" in the netlist and "1 kOhm" here; make them equal`,
    ],
    ['a part listed twice', 'R5,', `line ${lineOf('R4,')}: R4 is listed twice; leave it in one row`],
    [
      'too few',
      'TO-92",0,1',
      `line ${lineOf('P*,')}: 1 for 10 slots, and the netlist has 10; mend per_carrier or per_slot`,
    ],
  ] as const)('finds %s', (what, from, sentence) => {
    const to = {
      'a part left out': '',
      'another value': 'bus,1 kOhm',
      'a part listed twice': 'R4 R5,',
      'too few': 'TO-92",1,0',
    };
    const text =
      typeof from === 'string'
        ? altered(from, to[what as keyof typeof to] ?? 'R55,')
        : TEXT.replace(from, '');
    expect(checkBom(readBom(text, BOM), CARRIER, BOM).some((each) => each.endsWith(sentence))).toBe(true);
  });
});

describe('`readBom()`', () => {
  it.each([
    [
      'refs,part',
      'ref,part',
      `${BOM}, line 1: the columns must be refs,part,value,per_carrier,per_slot,what matters,price class`,
    ],
    [
      '2.2 kOhm,1,0',
      '2.2 kOhm,one,0',
      `${BOM}, line ${lineOf('R1,')}, column per_carrier: must be a whole number`,
    ],
    [
      'R1,',
      'r1,',
      `${BOM}, line ${lineOf('R1,')}, column refs: must be refs of the netlist such as "R2 R3", or - for what has none`,
    ],
    [
      'budgets.md),A',
      'budgets.md),cheap',
      `${BOM}, line ${lineOf('R1,')}, column price class: must be A, B, C, D, or - for what is there already`,
    ],
    [
      'R1,resistor',
      'R1,resistor,',
      `${BOM}: Invalid Record Length: expect 7, got 8 on line ${lineOf('R1,')}; put quotes around a cell that holds a comma`,
    ],
  ])('refuses %s made %s', (from, to, sentence) => {
    const reading = () => readBom(altered(from, to), BOM);
    expect(reading).toThrow(Refusal);
    expect(reading).toThrow(sentence);
  });
});

it('`quantity()` counts by slots', () => {
  expect(quantity({ per_carrier: 2, per_slot: 3 }, 10)).toBe(32);
});
