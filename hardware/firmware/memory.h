/* The serial memory: 64 KiB, 24-series protocol, pages of 128 bytes. */
#ifndef MEMORY_H
#define MEMORY_H

#include <stdbool.h>
#include <stdint.h>

/* False when the chip does not answer, also not after the longest time a write may take. */
bool memory_read(uint16_t address, void *into, uint8_t count);

/* Writes one page of 128 bytes at its address; the chip is busy with it for some milliseconds afterwards. */
bool memory_write_page(uint16_t address, const void *page);

#endif
