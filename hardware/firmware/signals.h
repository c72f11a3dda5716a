/* LED and piezo. Two sounds only: act now (high, quick), due (low, slow). The LED blinks the number of each slot
 * concerned in turn; without any it flashes long and rarely when the log needs a host. */
#ifndef SIGNALS_H
#define SIGNALS_H

#include <stdbool.h>
#include <stdint.h>

enum signals_sound { SIGNALS_SILENT, SIGNALS_DUE, SIGNALS_ACT };

void signals_init(void);

/* What is to be shown from now on: the sound, and slots as bits from slot 1. */
void signals_show(enum signals_sound sound, uint16_t slots, bool log_needs_host);

/* Call once a turn of the loop. */
void signals_step(void);

#endif
