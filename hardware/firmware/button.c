#include "button.h"

#include "clock.h"
#include "pins.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

/* Contacts bounce for some milliseconds: what follows an edge sooner is no edge. */
#define BOUNCE_MS 30UL
#define LONG_MS 1000UL

static volatile bool is_pressed;
static volatile bool is_short; /* a short press is to be told */
static volatile bool was_long; /* of the present press: told already */
static volatile uint32_t pressed_at;
static volatile uint32_t edge_at;
static volatile uint32_t short_at;

static bool is_low(void) {
    return (BUTTON_PIN & _BV(BUTTON_BIT)) == 0;
}

/* Takes the pin for what it shows if it has been quiet. Interrupts are off. */
static void follow(uint32_t now) {
    bool low = is_low();
    if (low == is_pressed || now - edge_at < BOUNCE_MS) return;
    edge_at = now;
    is_pressed = low;
    if (low) {
        pressed_at = now;
        was_long = false;
    } else if (!was_long) {
        is_short = true;
        short_at = pressed_at;
    }
}

ISR(BUTTON_VECTOR) {
    follow(clock_ms());
}

void button_init(void) {
    BUTTON_DDR &= (uint8_t)~_BV(BUTTON_BIT);
    BUTTON_PORT |= _BV(BUTTON_BIT);
    BUTTON_PCMSK |= _BV(BUTTON_PCINT);
    PCICR |= _BV(BUTTON_PCIE);
    edge_at = clock_ms() - BOUNCE_MS;
}

enum button_event button_take(uint32_t *pressed_ms) {
    enum button_event event = BUTTON_NONE;
    uint32_t now = clock_ms();
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        follow(now); /* the last edge may have fallen into the bounce */
        if (is_short) {
            event = BUTTON_SHORT;
            is_short = false;
            *pressed_ms = short_at;
        } else if (is_pressed && !was_long && now - pressed_at >= LONG_MS) {
            event = BUTTON_LONG;
            was_long = true;
        }
    }
    return event;
}
