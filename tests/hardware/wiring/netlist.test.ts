import { readFileSync } from 'node:fs';
import { describe, expect, it, test } from 'vitest';
import { ohms, readNetlist, SLOTS_MAX } from '../../../hardware/wiring/netlist.js';
import { PROBES_MAX } from '../../../src/carrier/wire/frames.js';
import { Refusal } from '../../../src/units/refusal.js';
import { CARRIER } from './files.js';

const SMALL = `slots 2
part R1 | resistor | 2.2 kOhm | 1 2 | box
part P* | probe | DS18B20 | GND DQ VDD | slot
net DATA: R1.2 P*.DQ   # joined
`;

describe('`readNetlist()`', () => {
  it('reads parts, pins and nets, and P* for every slot', () => {
    const { slots, parts, nets } = readNetlist(SMALL, 'x');
    expect(slots).toBe(2);
    expect(parts.map(({ ref }) => ref)).toEqual(['R1', 'P1', 'P2']);
    expect(nets).toEqual([{ name: 'DATA', ends: ['R1.2', 'P1.DQ', 'P2.DQ'], line: 4 }]);
  });

  it('reads what is printed beside a pin', () => {
    const board = CARRIER.parts.find(({ ref }) => ref === 'U1')!;
    expect(board.pins).toContainEqual({ name: 'PD2', print: 'D2' });
    expect(board.pins).toContainEqual({ name: '5V', print: '5V' });
  });

  it.each([
    ['slots 2', 'slots 0', 'x, line 1: a carrier has at least one slot'],
    ['slots 2', 'slots 17', 'x, line 1: one bus carries at most 16 probes; build a second carrier'],
    ['slots 2', 'slots two', 'x, line 1: the number of slots must be a number; write "slots 10"'],
    ['slots 2', '', 'x, line 3: say how many slots there are ("slots 10") above the first P*'],
    ['resistor', 'coil', 'x, line 2: the kind must be one of vehicle-socket, fuse'],
    ['| 1 2 |', '| 1 |', 'x, line 2: a part has at least two pins'],
    ['| 1 2 |', '| 1 3 |', 'x, line 2: R1 lacks the pin 2; a resistor has 1, 2'],
    ['| 1 2 |', '| 1 2 2 |', 'x, line 2: R1 has the pin 2 twice; name each pin once'],
    ['| 1 2 |', '| 1 2 3 |', 'x, line 2: R1 has a pin 3, which a resistor has not; it has 1, 2'],
    ['| 2.2 kOhm |', '| |', 'x, line 2: the value is missing; say what is bought, such as 2.2 kOhm'],
    ['| box', '', 'x, line 2: a part has five cells: REF | kind | value | pins | where'],
    [
      'part R1',
      'part r1',
      'x, line 2: a part is named by letters and a number such as R1, or P* for all probes',
    ],
    ['part P*', 'part R1', 'x, line 3: R1 is there twice; give each part a number of its own'],
    ['net DATA:', 'net DATA', 'x, line 4: a net is written "net NAME: REF.pin REF.pin"'],
    ['R1.2', 'R2.2', 'x, line 4: there is no part R2; add it or mend the name'],
    ['R1.2', 'R1.3', 'x, line 4: R1 has no pin 3; its pins are 1, 2'],
    ['R1.2', 'R1', 'x, line 4: an end is written REF.pin such as R1.2'],
    ['net DATA', 'wire DATA', 'x, line 4: "wire" is not known; a line begins with slots, part, net or #'],
  ])('refuses %s made %j', (from, to, sentence) => {
    const reading = () => readNetlist(SMALL.replace(from, to), 'x');
    expect(reading).toThrow(Refusal);
    expect(reading).toThrow(sentence);
  });

  it('refuses a net that is there twice', () => {
    expect(() => readNetlist(`${SMALL}net DATA: R1.1 P1.VDD`, 'x')).toThrow(
      'x, line 5: net DATA is there twice; join its ends in one line',
    );
  });
});

test('`SLOTS_MAX` is what the firmware has room for', () => {
  expect(SLOTS_MAX).toBe(PROBES_MAX);
  expect(readFileSync('hardware/firmware/frames.h', 'utf8')).toContain(`#define PROBES_MAX ${SLOTS_MAX}U`);
});

test.each([
  ['470 Ohm', 470],
  ['2.2 kOhm', 2200],
  ['2k2', null],
  ['2.2 MOhm', null],
])('`ohms()` reads %s', (value, expected) => {
  expect(ohms(value)).toBe(expected); // by the meaning of kilo; no source needed
});
