/* Serial port, 38400 8N1, sent from a ring by interrupt and received into one. */
#ifndef UART_H
#define UART_H

#include <stdbool.h>
#include <stdint.h>

void uart_init(void);

/* Queues a byte; sleeps while the ring is full. Interrupts must be on. */
void uart_put(uint8_t byte);

/* The next byte received, if any. What arrives while 63 bytes wait is lost. */
bool uart_take(uint8_t *byte);

#endif
