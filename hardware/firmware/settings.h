/* What the host sets and the board keeps in its EEPROM: the scan periods, and for each slot its probe, limits and due
 * time, and how often it set the clock. Each record has a CRC; one that a power cut spoilt is as if it had never been
 * set. */
#ifndef SETTINGS_H
#define SETTINGS_H

#include "onewire.h"

#include <stdbool.h>
#include <stdint.h>

struct settings_slot {
    uint8_t rom[ROM_BYTES];
    uint16_t cold; /* sixteenths, two's complement, or LIMIT_NONE */
    uint16_t hot;
    uint32_t due; /* Unix seconds, 0 for never */
} __attribute__((packed));

uint8_t settings_period_with_host(void);
uint8_t settings_period_alone(void);
void settings_set_periods(uint8_t with_host_seconds, uint8_t alone_seconds);

/* Slots count from 0 here. False when the slot is not set. */
bool settings_slot(uint8_t slot, struct settings_slot *into);
void settings_set_slot(uint8_t slot, const struct settings_slot *from);
void settings_clear_slot(uint8_t slot);

uint8_t settings_slot_count(void);

/* How often the clock was set since the board was made, modulo 256. */
uint8_t settings_clock_sets(void);

/* Counts a setting; returns when that is kept. A power cut meanwhile leaves it counted or not, never another count. */
void settings_count_clock_set(void);

#endif
