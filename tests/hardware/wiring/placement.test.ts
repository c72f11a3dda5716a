import { describe, expect, it } from 'vitest';
import { holeName, readPlacement, touched } from '../../../hardware/wiring/placement.js';
import { checkPlacement } from '../../../hardware/wiring/placementChecks.js';
import { Refusal } from '../../../src/units/refusal.js';
import { at, CARRIER, type Change, NETLIST } from './files.js';
import { inLine, moved, PERFBOARD, PLACEMENT } from './perfboard.js';

/** A line put in before the first wire. */
const added = (line: string): Change => ['bare GND      | B3', `${line}\nbare GND      | B3`];
const ADDED = inLine('bare GND ');

/** Broken placements: what was broken, how, and the sentence that must come. Others may follow from it. */
const BROKEN: readonly [what: string, change: Change, sentence: string][] = [
  [
    'a part left out',
    ['place R5 | E3: 1; E7: 2', ''],
    `${at('part R5')}R5 is in the box and has no place in ${PLACEMENT}; give it holes`,
  ],
  ['a part placed twice', added('place R5 | D5: 1; D9: 2'), `${ADDED}R5 has two places; leave it one`],
  [
    'a part of the lid',
    added('place S1 | D1: 1 2'),
    `${ADDED}S1 is not in the box by ${NETLIST}; take it out or mend its name`,
  ],
  ['a pin left out', ['E3: 1; E7: 2', 'E3: 1'], `${inLine('place R5')}R5.2 has no hole; give it one`],
  [
    'a pin that the part has not',
    ['E3: 1; E7: 2', 'E3: 1; E7: 2 3'],
    `${inLine('place R5')}R5 has no pin 3; mend the name`,
  ],
  [
    'two pins in one hole',
    ['place C2 | M19: 1 2', 'place C2 | N19: 1 2'],
    `${inLine('place U2')}U2.VCC and C2.1 are both in N19; move one`,
  ],
  [
    'a wire that leaves the board',
    added('bare GND | A24 A25'),
    `${ADDED}A25 is not on the board, which ends at R24`,
  ],
  [
    'a resistor that is too long for its holes',
    ['E3: 1; E7: 2', 'E3: 1; E5: 2'],
    `${inLine('place R5')}the holes of R5 must lie in a line, 3 to 5 apart`,
  ],
  [
    'a diode across a corner',
    ['D20: A; H20: K', 'D20: A; H21: K'],
    `${inLine('place D1')}the holes of D1 must lie in a line, 4 to 5 apart`,
  ],
  [
    'screws that are too close',
    ['B20/2: PS1 GND', 'B20: PS1 GND'],
    `${inLine('place X2')}the screws of X2 are 2 holes apart in a row`,
  ],
  [
    'a memory turned half round',
    ['N19: VCC WP SCL SDA; Q19: A0 A1 A2 GND', 'N19: GND A2 A1 A0; Q19: SDA SCL WP VCC'],
    `${inLine('place U2')}U2.GND is in N19, and by its print it stands elsewhere; the row is VCC WP SCL SDA`,
  ],
  [
    'a board one hole off',
    ['I2: . PB3 . .', 'I2: PB3 . . .'],
    `${inLine('place U1')}U1.PB3 is in I2, and by its print it stands elsewhere; the row is D12 D11 D10 D9 D8 D7 D6 D5 D4 D3 D2 GND RST RX TX`,
  ],
  [
    'a board whose rows are too close',
    ['; O2: .', '; N2: .'],
    `${inLine('place U1')}U1 has 2 rows, 6 holes apart, of 15 pins`,
  ],
  [
    'a clock with ground and supply changed about',
    ['SDA VCC GND', 'SDA GND VCC'],
    `${inLine('place U3')}U3.GND is in K23, and by its print it stands elsewhere; the row is 32K SQW SCL SDA VCC GND`,
  ],
  [
    'a part on another',
    ['place C3 | H14: 1; H13: 2', 'place C3 | J14: 1; J13: 2'],
    `${inLine('place U1')}U1 lies on C3; move one of them`,
  ],
  [
    'a bare wire aslant',
    ['bare LED      | G9 I9', 'bare LED      | G9 I10'],
    `${inLine('bare LED ')}G9 and I10 are not in a row or column`,
  ],
  [
    "a wire over another net's pin",
    ['bare GND      | A13 I13', 'bare GND      | A12 I12'],
    `${PLACEMENT}, line ${PERFBOARD.runs[1]?.line}: the wire of GND touches R1.2 in G12; lead it round`,
  ],
  [
    'a wire over a pin of the board that nothing is joined to',
    ['bare LED      | G9 I9', 'bare LED      | G9 I9 I8'],
    `${inLine('bare LED ')}the wire of LED touches an unused pin of U1 in I8; lead it round`,
  ],
  [
    'two wires that cross',
    ['bare 5V_PLUG  | B20 D20', 'bare 5V_PLUG  | B20 D20 D24'],
    `${inLine('bare 5V_PLUG')}wires of GND and 5V_PLUG meet in D24; move one`,
  ],
  [
    'a lead left out',
    ['lead SDA      | N22 Q9', ''],
    `${inLine('place U3')}U3.SDA in K22 is not joined to U1.PC4; wire SDA to it`,
  ],
  [
    'a pull-up that hangs on nothing',
    ['bare 5V       | P14 R14', ''],
    `${inLine('place R3')}R3.1 in R14 is not joined to R1.1; wire 5V to it`,
  ],
  [
    'a wire of no net',
    ['bare LED      | G9 I9', 'bare LAMP     | G9 I9'],
    `${inLine('bare LED ')}there is no net LAMP; mend the name`,
  ],
];

describe('`checkPlacement()`', () => {
  it('finds nothing wrong with the perforated board', () => {
    expect(checkPlacement(CARRIER, PERFBOARD)).toEqual([]);
  });

  it.each(BROKEN)('finds %s, and says so in a sentence', (_what, change, sentence) => {
    expect(checkPlacement(CARRIER, moved(change))).toContain(sentence);
  });

  it('takes an insulated lead that crosses others for no joint, and a bare wire for one', () => {
    expect(checkPlacement(CARRIER, moved(['lead SDA      | N22 Q9', 'bare SDA      | K22 K9 O9']))).toContain(
      `${inLine('lead SDA')}the wire of SDA touches U3.SCL in K21; lead it round`,
    );
  });
});

describe('`readPlacement()`', () => {
  it.each([
    ['\nboard A1:R24\n', '\nboard 24 x 18\n', 'board A1', 'the board is written "board A1:R24"'],
    ['E3: 1; E7: 2', 'E3: 1; E7', 'place R5', 'pins are written "HOLE: PIN PIN ...", such as "E3: 1"'],
    ['| E3: 1', '| 3E: 1', 'place R5', 'pins are written "HOLE: PIN PIN ...", such as "E3: 1"'],
    ['| G9 I9', '| G9 I0', 'bare LED ', 'a hole is a row and a column such as B12'],
    ['| G9 I9', '| G9', 'bare LED ', 'a bare wire passes two holes or more'],
    ['| N22 Q9', '| N22 P22 Q9', 'lead SDA', 'a lead joins two holes'],
    [
      'bare LED ',
      'wire LED ',
      'bare LED ',
      '"wire" is not known; a line begins with board, place, bare, lead or #',
    ],
  ])('refuses %s made %s', (from, to, line, sentence) => {
    expect(() => moved([from, to])).toThrow(new Refusal(`${inLine(line)}${sentence}`));
  });

  it('refuses a placement without a board', () => {
    expect(() => readPlacement('# nothing\n', 'x')).toThrow('x, line 1: the line "board A1:R24" is missing');
  });
});

it('`touched()` names all holes under a bare wire, and the two ends of a lead', () => {
  const [from, corner, to] = [
    { row: 0, column: 2 },
    { row: 0, column: 0 },
    { row: 1, column: 0 },
  ];
  expect(touched({ isBare: true, holes: [from, corner, to] }).map(holeName)).toEqual([
    'A3',
    'A2',
    'A1',
    'B1',
  ]);
  expect(touched({ isBare: false, holes: [from, corner] }).map(holeName)).toEqual(['A3', 'A1']);
});
