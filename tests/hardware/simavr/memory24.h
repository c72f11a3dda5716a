/* A 64 KiB serial EEPROM of the 24-series (24C512): two address bytes, page writes that wrap within 128 bytes, a write
 * cycle of 5 ms in which it does not acknowledge, sequential reads. */
#ifndef MEMORY24_H
#define MEMORY24_H

#include <stdbool.h>
#include <stdint.h>

#define MEMORY24_BYTES 65536U

/* Puts it on the lines, erased. */
void memory24_attach(void);

const uint8_t *memory24_bytes(void);

/* Negative control: one bit of each byte read is wrong. */
extern bool memory24_is_wrong;

#endif
