/* I2C master on two open-drain pins, by hand: each edge is in sight and each wait has an end, which the chip's own
 * TWI cannot promise while a line is held. About 150 kHz. A transfer is START, address, bytes, STOP; as soon as a step
 * returns false the caller ends with i2c_stop(). Interrupts stay on: they only make a clock longer. */
#ifndef I2C_H
#define I2C_H

#include <stdbool.h>
#include <stdint.h>

#define I2C_READ 1U

void i2c_init(void);

/* START or repeated START, then the address byte. False when nobody answers, or when a line is held low
 * and up to nine clocks by hand and a STOP do not free it. */
bool i2c_start(uint8_t address);

/* False when the byte was not acknowledged or a line is held. */
bool i2c_write(uint8_t byte);

/* Reads a byte into `*into`; the last byte of a transfer is not acknowledged. False when the clock is held. */
bool i2c_read(uint8_t *into, bool is_last);

void i2c_stop(void);

#endif
