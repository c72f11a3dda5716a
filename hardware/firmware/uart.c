#include "uart.h"

#include "clock.h"
#include "pins.h"

#include <avr/interrupt.h>
#include <avr/sleep.h>

/* 16 MHz / 16 / 38400 - 1, rounded: 38462 baud, 0.2 % fast. */
#define UART_BAUD 38400UL
#define UART_UBRR ((F_CPU + 8UL * UART_BAUD) / (16UL * UART_BAUD) - 1UL)

/* Ring of 256: the indices wrap by themselves. Empty when equal, so it holds 255. */
static volatile uint8_t ring[256];
static volatile uint8_t ring_in;
static volatile uint8_t ring_out;

#define RECEIVED_MAX 64U
static volatile uint8_t received[RECEIVED_MAX];
static volatile uint8_t received_in;
static volatile uint8_t received_out;

ISR(UART_RX_VECTOR) {
    uint8_t byte = UDR0;
    uint8_t next = (received_in + 1U) % RECEIVED_MAX;
    if (next == received_out) return;
    received[received_in] = byte;
    received_in = next;
    /* Noise has no line end, and must not fill the ring while the loop sleeps. */
    if (byte == '\n' || next % (RECEIVED_MAX / 2U) == 0U) clock_wake();
}

ISR(UART_UDRE_VECTOR) {
    uint8_t out = ring_out;
    if (out == ring_in) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
    } else {
        UDR0 = ring[out];
        ring_out = out + 1U;
    }
}

void uart_init(void) {
    UBRR0 = UART_UBRR;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(TXEN0) | _BV(RXEN0) | _BV(RXCIE0);
}

void uart_put(uint8_t byte) {
    uint8_t next = ring_in + 1U;
    set_sleep_mode(SLEEP_MODE_IDLE);
    cli();
    while (next == ring_out) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
        cli();
    }
    ring[ring_in] = byte;
    ring_in = next;
    UCSR0B |= _BV(UDRIE0);
    sei();
}

bool uart_take(uint8_t *byte) {
    uint8_t out = received_out;
    if (out == received_in) return false;
    *byte = received[out];
    received_out = (out + 1U) % RECEIVED_MAX;
    return true;
}
