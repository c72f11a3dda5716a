#include "clock.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <util/atomic.h>

/* Timer1 in CTC mode, clock / 64: 250 counts a millisecond, one compare match a tick. */
#define COUNTS_PER_MS (F_CPU / 64UL / 1000UL)
#define COUNTS_PER_TICK (COUNTS_PER_MS * CLOCK_TICK_MS)

/* For the test bench: a board time that is near its wrap. */
#ifndef START_MS
#define START_MS 0
#endif

static volatile uint32_t tick_ms = START_MS;
static volatile bool is_awake;

ISR(TIMER1_COMPA_vect) {
    tick_ms += CLOCK_TICK_MS;
    is_awake = true;
}

void clock_init(void) {
    TCCR1A = 0;
    OCR1A = COUNTS_PER_TICK - 1U;
    TIMSK1 = _BV(OCIE1A);
    TCCR1B = _BV(WGM12) | _BV(CS11) | _BV(CS10);
}

uint32_t clock_ms(void) {
    uint32_t base;
    uint16_t counts;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        base = tick_ms;
        counts = TCNT1;
        /* The counter wrapped while interrupts were off: the tick is still to be counted. */
        if ((TIFR1 & _BV(OCF1A)) && counts < COUNTS_PER_TICK / 2U) base += CLOCK_TICK_MS;
    }
    return base + counts / COUNTS_PER_MS;
}

bool clock_due(uint32_t now, uint32_t at) {
    return (int32_t)(now - at) >= 0;
}

void clock_idle(void) {
    set_sleep_mode(SLEEP_MODE_IDLE);
    cli();
    while (!is_awake) {
        sleep_enable();
        sei(); /* the instruction after SEI runs before any interrupt: no wake-up is missed */
        sleep_cpu();
        sleep_disable();
        cli();
    }
    is_awake = false;
    sei();
}

void clock_wake(void) {
    is_awake = true;
}
