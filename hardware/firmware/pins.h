/* The pins, by chip, all at 16 MHz and 5 V. UART (38400 8N1) is USART0 everywhere. The open-drain lines (1-Wire,
 * I2C) have their PORT bits at 0, always: DDR pulls the line low or lets it go. Another chip needs another header. */
#ifndef PINS_H
#define PINS_H

#include <avr/io.h>

#if defined(__AVR_ATmega328P__)
#include "chip_atmega328p.h"
#elif defined(__AVR_ATmega2560__)
#include "chip_atmega2560.h"
#else
#error "no header for this chip"
#endif

#endif
