/* Moments to come, in clock cycles since power-on. simavr forgets its cycle timers when the chip is reset; what is on
 * the agenda stays. */
#ifndef AGENDA_H
#define AGENDA_H

#include <simavr/sim_avr.h>
#include <stdbool.h>
#include <stdint.h>

#define CRYSTAL_HZ 16000000ULL
#define MICROSECONDS(us) ((uint64_t)((us) * (CRYSTAL_HZ / 1000000ULL)))
#define MILLISECONDS(ms) ((uint64_t)((ms) * (CRYSTAL_HZ / 1000ULL)))

struct event {
    void (*happen)(void *owner);
    void *owner;
    uint64_t at;
    bool is_set;
    struct event *next;
};

void agenda_attach(avr_t *avr);

/* After a reset of the chip. */
void agenda_resume(void);

uint64_t agenda_now(void);

/* Sets or moves an event. It happens before the first instruction that begins at `at` or later, also in sleep. */
void agenda_set(struct event *event, uint64_t at);

void agenda_cancel(struct event *event);

#endif
