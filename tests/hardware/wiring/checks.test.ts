import { describe, expect, it, test } from 'vitest';
import { checkNetlist } from '../../../hardware/wiring/checks.js';
import { readFirmwarePins } from '../../../hardware/wiring/firmwarePins.js';
import { at, CARRIER, type Change, changed, NETLIST, PINS } from './files.js';

const FIRMWARE = '(hardware/firmware/chip_atmega328p.h)';

/** Broken netlists: what was broken, how, and the sentences that must come, no more. */
const BROKEN: readonly [what: string, changes: readonly Change[], sentences: readonly string[]][] = [
  [
    'no fuse',
    [
      ['net 12V:       J1.12V F1.in', 'net 12V:       J1.12V PS1.12V'],
      ['net 12V_FUSED: F1.out PS1.12V', ''],
      ['part F1 ', '#'],
    ],
    [`${at('part PS1')}12 V reaches PS1 without a fuse; put one between J1.12V and it`],
  ],
  [
    'a wire around the fuse',
    [
      ['J1.12V F1.in', 'J1.12V F1.in F1.out PS1.12V'],
      ['net 12V_FUSED: F1.out PS1.12V', ''],
    ],
    [`${at('part PS1')}12 V reaches PS1 without a fuse; put one between J1.12V and it`],
  ],
  [
    'a fuse that lets a cable burn',
    [['| 2 A   ', '| 20 A  ']],
    [`${at('part F1')}F1 is a fuse of 20 A; take one of at most 3 A, written as 2 A`],
  ],
  [
    'no fuse before the probes',
    [
      ['U2.VCC U3.VCC F2.in', 'U2.VCC U3.VCC P*.VDD X1.VDD C3.1'],
      ['net 5V_TRUNK:  F2.out P*.VDD X1.VDD C3.1', ''],
      ['part F2 ', '#'],
    ],
    [`${at('part P*')}P1.VDD gets its 5 V past no fuse; put a resettable one between U1.5V and the probes`],
  ],
  [
    'a trunk fuse that never trips',
    [['| 0.2 A ', '| 2.0 A ']],
    [`${at('part F2')}F2 lets 2.0 A pass; take one of at most 0.5 A`],
  ],
  [
    'a capacitor the wrong way round',
    [
      ['C1.+ R1.1', 'C1.- R1.1'],
      ['U1.GND C1.-', 'U1.GND C1.+'],
    ],
    [
      `${at('part C1')}C1.+ is a supply and is joined to GND: a short; take it out of GND`,
      `${at('part C1')}C1.- must go to GND and is in 5V; wire it to GND`,
    ],
  ],
  [
    'a capacitor on a line of data',
    [
      ['C1.+ R1.1', 'R1.1'],
      ['U1.PD4 S1.1', 'U1.PD4 S1.1 C1.+'],
    ],
    [
      `${at('part C1')}C1.+ must go to 5V, its - to GND; wire it there`,
      `${NETLIST}: 5V has no capacitor; put one of 47 to 470 uF from it to GND`,
    ],
  ],
  [
    'no capacitor at the board',
    [
      ['part C1 ', '#'],
      ['C1.+ R1.1', 'R1.1'],
      ['U1.GND C1.-', 'U1.GND'],
    ],
    [`${NETLIST}: 5V has no capacitor; put one of 47 to 470 uF from it to GND`],
  ],
  [
    'a capacitor too small to hold the board up',
    [['| 100 uF', '| 1 uF  ']],
    [`${at('part C1')}C1 is 1 uF; take 47 to 470 uF`],
  ],
  [
    'a memory without its capacitor',
    [
      ['part C2 ', '#'],
      ['F2.in C2.1', 'F2.in'],
      ['C2.2 C3.2', 'C3.2'],
    ],
    [`${at('net 5V:')}U2.VCC has no ceramic capacitor; put one of 100 nF from 5V to GND`],
  ],
  [
    'a trunk whose capacitor stands before its fuse',
    [
      ['X1.VDD C3.1', 'X1.VDD'],
      ['F2.in C2.1', 'F2.in C2.1 C3.1'],
    ],
    [`${at('net 5V_TRUNK')}P1.VDD has no ceramic capacitor; put one of 100 nF from 5V_TRUNK to GND`],
  ],
  [
    'a capacitor from supply to data',
    [
      ['C2.2 C3.2', 'C2.2'],
      ['X1.DQ', 'X1.DQ C3.2'],
    ],
    [`${at('net 5V_TRUNK')}P1.VDD has no ceramic capacitor; put one of 100 nF from 5V_TRUNK to GND`],
  ],
  [
    'a ceramic capacitor of another size',
    [['part C2  | ceramic         | 100 nF', 'part C2  | ceramic         | 10 uF']],
    [`${at('part C2')}C2 is 10 uF; take 100 nF`],
  ],
  [
    'two cores of the trunk changed about at the terminal',
    [
      ['X1.VDD C3.1', 'X1.DQ C3.1'],
      ['P*.DQ X1.DQ', 'P*.DQ X1.VDD'],
    ],
    [
      `${at('part X1')}X1.DQ does not lead to DQ; wire it there, or call it what it leads to`,
      `${at('part X1')}X1.VDD does not lead to VDD; wire it there, or call it what it leads to`,
    ],
  ],
  [
    'a lead of the lid on the wrong screw',
    [
      ['S1.1 X3.S1', 'S1.1 X3.L1'],
      ['L1.A X3.L1', 'L1.A X3.S1'],
    ],
    [
      `${at('part X3')}X3.L1 does not lead to L1; wire it there, or call it what it leads to`,
      `${at('part X3')}X3.S1 does not lead to S1; wire it there, or call it what it leads to`,
    ],
  ],
  [
    'an LED that burns its pin',
    [['| 470 Ohm', '| 1 Ohm  ']],
    [`${at('part R4')}R4 is 1 Ohm before L1.A; take 220 to 1000 Ohm`],
  ],
  [
    'a ground that goes nowhere near ground',
    [
      ['J1.GND PS1.GND H1.GND', 'PS1.GND H1.GND'],
      ['J1.12V F1.in', 'J1.12V J1.GND F1.in'],
    ],
    [`${at('part J1')}J1.GND must go to GND and is in 12V; wire it to GND`],
  ],
  [
    'a chip the wrong way round',
    [
      ['U2.VCC U3.VCC', 'U2.GND U3.VCC'],
      ['U2.GND U2.A0', 'U2.VCC U2.A0'],
    ],
    [
      `${at('part U2')}U2.VCC is a supply and is joined to GND: a short; take it out of GND`,
      `${at('part U2')}U2.GND must go to GND and is in 5V; wire it to GND`,
    ],
  ],
  [
    'data wires that are crossed',
    [
      ['H1.D- U1.D-', 'H1.D- U1.D+'],
      ['H1.D+ U1.D+', 'H1.D+ U1.D-'],
    ],
    [
      `${at('part H1')}H1.D+ must go to U1.D+; wire it there`,
      `${at('part H1')}H1.D- must go to U1.D-; wire it there`,
    ],
  ],
  [
    'a lamp before the fuse',
    [
      ['J1.12V F1.in', 'J1.12V F1.in R9.1'],
      ['net GND: ', 'part R9 | resistor | 1 kOhm | 1 2 | box\nnet GND: R9.2'],
    ],
    [`${at('net GND')}12 V reaches R9 without a fuse; put one between J1.12V and it`],
  ],
  [
    'no back-feed protection after the adapter',
    [
      ['net 5V_PLUG:   PS1.5V D1.A X2.PS1', ''],
      ['D1.K D2.K', 'PS1.5V X2.PS1 D2.K'],
      ['part D1 ', '#'],
    ],
    [
      `${at('part PS1')}H1.VBUS feeds back into PS1.5V; put a diode after PS1.5V, its cathode (K) towards U1.5V`,
    ],
  ],
  [
    'a diode the wrong way round',
    [
      ['H1.VBUS D2.A', 'H1.VBUS D2.K'],
      ['D1.K D2.K', 'D1.K D2.A'],
    ],
    [
      `${at('part H1')}PS1.5V feeds back into H1.VBUS; put a diode after H1.VBUS, its cathode (K) towards U1.5V`,
      `${at('part H1')}H1.VBUS does not reach U1.5V; lead it there through a diode`,
    ],
  ],
  [
    'two pull-ups of the bus',
    [
      ['# The probes.', 'part R9  | resistor | 2.2 kOhm | 1 2 | slot'],
      ['R1.1 R2.1', 'R1.1 R9.1 R2.1'],
      ['R1.2 P*.DQ', 'R1.2 R9.2 P*.DQ'],
    ],
    [
      `${at('net DATA')}DATA needs one pull-up to 5 V and has 2 (R1, R9); wire exactly one of 1.5 to 4.7 kOhm`,
    ],
  ],
  [
    'no pull-up of the bus',
    [
      ['R1.2 P*.DQ', 'P*.DQ'],
      ['R1.1 R2.1', 'R2.1'],
      ['part R1 ', '#'],
    ],
    [`${at('net DATA')}DATA needs one pull-up to 5 V and has none; wire exactly one of 1.5 to 4.7 kOhm`],
  ],
  [
    'a pull-up that is too large',
    [['| 2.2 kOhm ', '| 10 kOhm  ']],
    [`${at('part R1')}R1 pulls DATA up with 10 kOhm; take 1.5 to 4.7 kOhm`],
  ],
  [
    'a pull-up that is too small',
    [['| 2.2 kOhm ', '| 1 kOhm   ']],
    [`${at('part R1')}R1 pulls DATA up with 1 kOhm; take 1.5 to 4.7 kOhm`],
  ],
  [
    'a pull-up without a value',
    [['| 2.2 kOhm ', '| small    ']],
    [`${at('part R1')}R1 pulls DATA up with small; take 1.5 to 4.7 kOhm`],
  ],
  [
    'the I2C pull-ups twice, in the box and on the module',
    [
      [
        '# The probes.',
        'part R6 | resistor | 4.7 kOhm | 1 2 | module\npart R7 | resistor | 4.7 kOhm | 1 2 | module',
      ],
      ['R1.1 R2.1', 'R1.1 R6.1 R7.1 R2.1'],
      ['U1.PC4 R2.2', 'U1.PC4 R2.2 R6.2'],
      ['U1.PC5 R3.2', 'U1.PC5 R3.2 R7.2'],
    ],
    [
      `${at('net SDA', 1)}SDA needs one pull-up to 5 V and has 2 (R2, R6); wire exactly one of 2.2 to 4.7 kOhm`,
      `${at('net SCL', 1)}SCL needs one pull-up to 5 V and has 2 (R3, R7); wire exactly one of 2.2 to 4.7 kOhm`,
    ],
  ],
  [
    'the probes on another pin than the firmware reads',
    [
      ['D+ PD2(D2)', 'D+ PD3(D3)'],
      ['U1.PD2', 'U1.PD3'],
    ],
    [`${at('net DATA')}the firmware has ONEWIRE on PD2 ${FIRMWARE}; wire U1.PD2 to P1.DQ`],
  ],
  [
    'button and LED changed about',
    [
      ['U1.PD4 S1.1', 'U1.PD5 S1.1'],
      ['U1.PD5 R4.1', 'U1.PD4 R4.1'],
    ],
    [
      `${at('net MARK')}the firmware has BUTTON on PD4 ${FIRMWARE}; wire U1.PD4 to S1.1`,
      `${at('net LED_A')}the firmware has LED on PD5 ${FIRMWARE}; wire U1.PD5 through a resistor to L1.A`,
    ],
  ],
  [
    'an LED without its resistor',
    [
      ['U1.PD5 R4.1', 'R4.1 R4.2'],
      ['R4.2 L1.A', 'U1.PD5 L1.A'],
    ],
    [`${at('net LED_A')}the firmware has LED on PD5 ${FIRMWARE}; wire U1.PD5 through a resistor to L1.A`],
  ],
  [
    'an LED the wrong way round',
    [
      ['R4.2 L1.A', 'R4.2 L1.K'],
      ['S1.2 L1.K', 'S1.2 L1.A'],
    ],
    [
      `${at('net GND')}the firmware has LED on PD5 ${FIRMWARE}; wire U1.PD5 through a resistor to L1.A`,
      `${at('part L1')}L1.K must go to GND; wire it there`,
    ],
  ],
  [
    'a net with one end',
    [
      ['net VBAT:      BT1.+ U3.VBAT', 'net VBAT:      U3.VBAT'],
      ['BT1.- S1.2', 'BT1.- BT1.+ S1.2'],
    ],
    [
      `${at('net VBAT')}net VBAT has one end; join a second to it or leave it out`,
      `${at('part BT1')}BT1.+ is a supply and is joined to GND: a short; take it out of GND`,
    ],
  ],
  [
    'a pin in two nets',
    [['BT1.+ U3.VBAT', 'BT1.+ U3.VBAT U2.A0']],
    [`${at('net VBAT')}U2.A0 is there twice, in GND and in VBAT; leave it in one`],
  ],
  [
    'a pin twice in one net',
    [['BT1.+ U3.VBAT', 'BT1.+ U3.VBAT BT1.+']],
    [`${at('net VBAT')}BT1.+ is there twice, in VBAT and in VBAT; leave it in one`],
  ],
  ['a pin that leads nowhere', [['H1.GND ', '']], [`${at('part H1')}H1.GND is in no net; join it to one`]],
  [
    'a button that leads to 5 V',
    [
      ['BT1.- S1.2', 'BT1.-'],
      ['R1.1 R2.1', 'R1.1 S1.2 R2.1'],
    ],
    [`${at('part S1')}S1.2 must go to GND; wire it there`],
  ],
  [
    'a probe powered through its data wire',
    [
      ['part F2 ', '#'],
      ['net 5V_TRUNK:  F2.out P*.VDD X1.VDD C3.1', ''],
      ['U3.VCC F2.in', 'U3.VCC X1.VDD C3.1'],
      ['LS1.2 P*.GND', 'LS1.2 P*.GND P*.VDD'],
      ['slots 10', 'slots 1'],
    ],
    [
      `${at('part P*')}P1.VDD is a supply and is joined to GND: a short; take it out of GND`,
      `${at('part P*')}P1.VDD gets no 5 V; a probe is never powered through its data wire`,
      `${at('part X1')}X1.VDD does not lead to VDD; wire it there, or call it what it leads to`,
    ],
  ],
  [
    'a memory at another address',
    [
      ['U2.A1 ', ''],
      ['R1.1 R2.1', 'R1.1 U2.A1 R2.1'],
    ],
    [`${at('part U2')}U2.A1 must go to GND, else the firmware does not find the memory`],
  ],
];

describe('`checkNetlist()`', () => {
  it('finds nothing wrong with the carrier', () => {
    expect(checkNetlist(CARRIER, PINS)).toEqual([]);
  });

  it.each([1, 3, 16])('nor with one of %d slots', (slots) => {
    expect(checkNetlist(changed(['slots 10', `slots ${slots}`]), PINS)).toEqual([]);
  });

  it.each(BROKEN)('finds %s, and says so in a sentence', (_what, changes, sentences) => {
    expect(checkNetlist(changed(...changes), PINS)).toEqual(sentences);
  });

  it('finds a netlist that differs from the firmware, whichever of them was changed', () => {
    expect(checkNetlist(CARRIER, { ...PINS, PIEZO: 'PB1' })).toEqual([
      `${at('net SOUND_A')}the firmware has PIEZO on PB1 ${FIRMWARE}; wire U1.PB1 through a resistor to LS1.1`,
    ]);
  });
});

describe('`readFirmwarePins()`', () => {
  it('reads the header that the image is built with', () => {
    // Source: the ports and bits in hardware/firmware/chip_atmega328p.h, and the pins named in its comments.
    expect(PINS).toEqual({
      ONEWIRE: 'PD2',
      I2C_SDA: 'PC4',
      I2C_SCL: 'PC5',
      BUTTON: 'PD4',
      LED: 'PD5',
      PIEZO: 'PB3',
    });
  });

  it('refuses a header that lacks a pin', () => {
    expect(() => readFirmwarePins('#define LED_PORT PORTD\n', 'chip.h')).toThrow(
      'chip.h: ONEWIRE_PORT and ONEWIRE_BIT do not name a pin; define both there',
    );
  });
});

test('a change that finds nothing to change is a mistake of the test', () => {
  expect(() => changed(['no such words', ''])).toThrow('nothing to change');
});
