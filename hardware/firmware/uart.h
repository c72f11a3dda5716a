/* Serial port, 38400 8N1, sent from a ring by interrupt. Nothing is received yet; RXD (PD0) is kept for it. */
#ifndef UART_H
#define UART_H

#include <stdint.h>

void uart_init(void);

/* Queues a byte; sleeps while the ring is full. Interrupts must be on. */
void uart_put(uint8_t byte);

#endif
