/* UTC beside board time: from the clock chip, or from the host until the next boot. */
#ifndef CALENDAR_H
#define CALENDAR_H

#include <stdbool.h>
#include <stdint.h>

/* Asks the chip. */
void calendar_init(void);

/* Follows the chip: call once a turn of the loop. */
void calendar_step(void);

/* CLOCK_... of frames.h, about the chip */
char calendar_state(void);

/* Unix seconds at board time `at_ms` (within 24 days of now), 0 when unknown. */
uint32_t calendar_utc(uint32_t at_ms);

/* The host says that `utc` begins at `at_ms`. False when the chip did not take it; the calendar does. */
bool calendar_set(uint32_t utc, uint32_t at_ms);

/* How often it was set since the board was made, by hosts and to put a disturbed chip right, modulo 256. What the chip tells at two times belongs together where
 * this is the same. */
uint8_t calendar_sets(void);

#endif
