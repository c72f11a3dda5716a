/* Board time: milliseconds since this boot, from the crystal through Timer1. */
#ifndef CLOCK_H
#define CLOCK_H

#include <stdbool.h>
#include <stdint.h>

#define CLOCK_TICK_MS 250U

void clock_init(void);

/* Milliseconds since clock_init(); wraps after 49 days. */
uint32_t clock_ms(void);

/* True once `at` has come. Right across the wrap, for times less than 24 days apart. */
bool clock_due(uint32_t now, uint32_t at);

/* Sleeps (idle mode) until the next tick or clock_wake(), or returns at once if there was one since the last call. */
void clock_idle(void);

/* For interrupts: ends the sleep. */
void clock_wake(void);

#endif
