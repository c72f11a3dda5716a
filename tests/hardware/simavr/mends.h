/* Where Debian's simavr 1.6 differs from the chip's datasheet in what this firmware uses, and is put right:
 * - USART0 takes eleven bit times a byte (it counts a parity bit that is not there); 8N1 is ten.
 * - A write to the EEPROM takes no time; erasing and writing a byte takes 3.4 ms, and EEPE tells it. */
#ifndef MENDS_H
#define MENDS_H

#include <simavr/sim_avr.h>
#include <stdbool.h>

/* True unless simavr is wanted as it is. */
extern bool mends_are_wanted;

void mends_apply(avr_t *avr);

#endif
