/* Where pages are kept: a ring of LOG_PAGES places in the serial memory, page n at n modulo LOG_PAGES; without the
 * memory, the last few finished pages in RAM that survives a reset. One page, the newest, may be open: it is stored
 * again and again, alternately at its own place and at the next one, and ends at its own. */
#ifndef RING_H
#define RING_H

#include "page.h"

#include <stdbool.h>
#include <stdint.h>

/* The open page, or the newest one. It survives every reset but a power-on, under its own CRC. */
extern struct page ring_page;

/* After a power-on RAM holds nothing. */
void ring_init(bool is_power_on);

/* Reads the memory's headers, a few at each call. True while there is more to do. */
bool ring_mount_step(void);

/* LOG_STORE_... */
char ring_store(void);

__uint24 ring_newest(void);
__uint24 ring_oldest(void);

/* Empties ring_page and gives it the next number; it becomes the newest. */
void ring_begin(void);

/* While the log is in RAM: tries the memory again, which is then to be mounted. */
void ring_retry(void);

/* Seals ring_page and stores it where its copy before is not. */
void ring_save(void);

/* Stores ring_page at its own place, unless it is there, and reads it back. */
void ring_finish(void);

/* One part of a page that is whole; false when there is none. Parts are asked for in order, 0 first. */
bool ring_read(__uint24 number, uint8_t part, uint8_t into[LOG_PART_BYTES]);

#endif
