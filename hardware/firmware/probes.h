/* The table of probes: an index for each ROM id, which stays the probe's until the board boots. A probe that
 * stops answering keeps its entry; a new one gets the next free index and the table a new number. */
#ifndef PROBES_H
#define PROBES_H

#include "onewire.h"
#include "thermometer.h"

#include <stdbool.h>
#include <stdint.h>

/* Begins a search for probes that the table does not know. */
void probes_search_begin(void);

/* Takes one step of the search (at most 150 ms). True while there is more to do. */
bool probes_search_step(void);

/* True once after the table was built or has changed. */
bool probes_take_changed(void);

/* Judges the next reading of a probe by those before: the first value since it entered the table or restarted
 * becomes STATUS_FIRST_CONVERSION, and one that restarted is set up again. */
void probes_judge(uint8_t index, struct thermometer_reading *reading);

uint8_t probes_table(void);
uint8_t probes_count(void);
const uint8_t *probes_rom(uint8_t index);

#endif
