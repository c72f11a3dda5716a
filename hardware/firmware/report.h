/* The lines the board sends (frames.h, docs/wire-protocol.md). */
#ifndef REPORT_H
#define REPORT_H

#include "marks.h"
#include "thermometer.h"

#include <stdint.h>

/* Sends the boot line and starts the periods of report_due(). */
void report_boot(void);

void report_board(void);
void report_probes(void);
void report_clock(void);
void report_log_state(void);
void report_alarms(void);
void report_settings(void);
void report_mark(const struct mark *mark);
void report_log_part(__uint24 page, uint8_t part, const uint8_t *bytes);

/* Something a person should know once: WARNING_... */
void report_warning(char warning, uint16_t detail);

/* Starts an answer to a command; the caller adds values and ends the line. `sequence` is two digits. */
void report_answer_begin(char command, const char *sequence, char result);

/* Sends what is due by the clock: the heartbeat twice a second, the boot, clock, table and log state lines each minute,
 * the table lines also after a change. */
void report_due(void);

/* One scan of the whole table, `readings` by index; `started_ms` is when the probes began to convert. */
void report_scan(uint32_t scan, uint32_t started_ms, const struct thermometer_reading *readings);

#endif
