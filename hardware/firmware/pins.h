/* Every pin of the board in one place. ATmega328P, 16 MHz crystal, 5 V.
 *
 * In use
 *   PD0, PD1   UART, 38400 8N1
 *   PD2        1-Wire, open drain: PORTD2 stays 0 and DDRD2 pulls the line low (pull-up 1.5-4.7 kOhm to 5 V)
 * Kept free for parts that are not built yet
 *   PC4, PC5   I2C data and clock: 64 KiB serial memory, clock chip
 *   PD3        clock chip, one pulse a second
 *   PD4        mark button, to ground
 *   PD5        LED
 *   PB1        piezo
 */
#ifndef PINS_H
#define PINS_H

#include <avr/io.h>

#define ONEWIRE_DDR DDRD
#define ONEWIRE_PORT PORTD
#define ONEWIRE_PIN PIND
#define ONEWIRE_BIT 2

#endif
