/* The log: every scan but a boot's first goes to the open page, and with it to the ring. */
#ifndef LOG_H
#define LOG_H

#include "thermometer.h"

#include <stdbool.h>
#include <stdint.h>

void log_init(void);

/* Reads the memory after a boot, piece by piece. True while there is more to do. */
bool log_mount_step(void);

/* Adds a scan of the whole table, `readings` by index. */
void log_scan(uint32_t scan, uint32_t started_ms, const struct thermometer_reading *readings);

/* A host has all finished pages up to this one. False when there is no such finished page. */
bool log_acknowledge(__uint24 page);

/* Sends pages again, one part for each call of log_send_step(), which is true while there is more. Returns how many
 * pages will be tried. */
uint16_t log_send(__uint24 page, uint16_t count);
bool log_send_step(void);

/* For the log state frame. */
__uint24 log_open_page(void);
__uint24 log_acknowledged(void);
uint16_t log_room(void);

/* True when a host should come soon, or the memory fails. */
bool log_needs_host(void);

#endif
