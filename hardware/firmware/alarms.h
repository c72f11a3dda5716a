/* Which slots are past a limit and which are due, by the settings. */
#ifndef ALARMS_H
#define ALARMS_H

#include "thermometer.h"

#include <stdint.h>

/* Holds the values of a scan, by index of the table, against the limits. */
void alarms_scan(const struct thermometer_reading *readings);

/* Looks at due times; call once a turn of the loop. */
void alarms_step(void);

/* Silences what sounds now; a slot that joins later sounds again. */
void alarms_mute(void);

/* The settings of a slot have changed: what it says is judged anew. */
void alarms_forget(uint8_t slot);

uint16_t alarms_act(void);
uint16_t alarms_due(void);
bool alarms_are_muted(void);

#endif
