/* The lines the board sends (frames.h, docs/wire-protocol.md). */
#ifndef REPORT_H
#define REPORT_H

#include "thermometer.h"

#include <stdint.h>

/* Sends the boot line and starts the periods of report_due(). */
void report_boot(void);

/* Sends what is due by the clock: the heartbeat each second, the boot and table lines each minute, the
 * table lines also after a change. */
void report_due(void);

/* One scan of the whole table, `readings` by index; `started_ms` is when the probes began to convert. */
void report_scan(uint32_t scan, uint32_t started_ms, const struct thermometer_reading *readings);

#endif
