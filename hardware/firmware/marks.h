/* The marks: moments stamped with the button, the last MARKS_MAX of them kept in the EEPROM. */
#ifndef MARKS_H
#define MARKS_H

#include <stdbool.h>
#include <stdint.h>

struct mark {
    uint8_t number; /* counts on, wraps */
    uint16_t boot;
    uint32_t at_ms;
    uint32_t utc; /* 0 when unknown */
    uint8_t clock_sets;
} __attribute__((packed));

/* Finds where the marks end. */
void marks_init(void);

/* Keeps a mark and sends it. */
void marks_stamp(uint32_t at_ms);

uint8_t marks_count(void);

/* Sends them all, the oldest first: one for each call of marks_step(), which is true while there is more. */
void marks_send_all(void);
bool marks_step(void);

#endif
