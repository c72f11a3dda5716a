/* The clock chip, DS3231 (datasheet 19-5170, "Timekeeping registers"), on its cell: 24-hour mode, no alarms. */
#ifndef DS3231_H
#define DS3231_H

#include <stdbool.h>
#include <stdint.h>

/* Puts it on the lines. It came from the factory: 2000-01-01, and its oscillator has been stopped until now. */
void ds3231_attach(void);

#endif
