import type { CPU } from 'avr8js';

const TCCR2A = 0xb0;
const TCCR2B = 0xb1;
const OCR2A = 0xb3;

const COM2A_TOGGLE = 0x40;
const COM2A = 0xc0;
const WGM21 = 0x02;
/** Prescaler by CS22:0; 0 stops the counter. */
const PRESCALERS = [0, 1, 8, 32, 64, 128, 256, 1024];

/**
 * The 8-bit timer as a tone on OC2A, which is all that is modelled of it: in CTC mode the pin toggles at each
 * compare match. `onTone` gets the frequency in hertz whenever it changes, null for none.
 */
export function attachTimer2(cpu: CPU, crystalHz: number, onTone: (hz: number | null) => void): void {
  let before: number | null = null;
  const update = () => {
    const register = (address: number) => cpu.data[address] ?? 0;
    const prescaler = PRESCALERS[register(TCCR2B) & 7] ?? 0;
    const isToggling = (register(TCCR2A) & COM2A) === COM2A_TOGGLE && (register(TCCR2A) & 3) === WGM21;
    const hz = isToggling && prescaler > 0 ? crystalHz / prescaler / 2 / (1 + register(OCR2A)) : null;
    if (hz === before) return;
    before = hz;
    onTone(hz);
  };
  for (const address of [TCCR2A, TCCR2B, OCR2A])
    cpu.writeHooks[address] = (value) => {
      cpu.data[address] = value;
      update();
      return true;
    };
}
