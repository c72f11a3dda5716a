#include "mends.h"

#include "agenda.h"

#include <simavr/avr_uart.h>
#include <stddef.h>
#include <string.h>

/* Addresses of the ATmega328P */
#define EECR 0x3FU
#define UBRR0L 0xC4U
#define EEPE 0x02U

#define EEPROM_WRITE MICROSECONDS(3400)

bool mends_are_wanted = true;

static avr_t *chip;

static avr_uart_t *usart0(void) {
    avr_io_t *io = chip->io_port;
    while (strcmp(io->kind, "uart") != 0) io = io->next;
    return (avr_uart_t *)io;
}

/* simavr tells of a read as of a write: what is mended already stays. */
static void baud_rate_written(struct avr_irq_t *irq, uint32_t value, void *unused) {
    static avr_cycle_count_t mended;
    avr_uart_t *uart = usart0();
    (void)irq;
    (void)value;
    (void)unused;
    if (uart->cycles_per_byte == mended) return;
    mended = uart->cycles_per_byte / 11U * 10U;
    uart->cycles_per_byte = mended;
}

static void write_ended(void *unused) {
    (void)unused;
    chip->data[EECR] &= (uint8_t)~EEPE;
}

static void eeprom_control_written(struct avr_irq_t *irq, uint32_t value, void *unused) {
    static struct event end = {.happen = write_ended};
    (void)irq;
    (void)unused;
    if ((value & EEPE) == 0U || end.is_set) return;
    chip->data[EECR] |= EEPE;
    agenda_set(&end, agenda_now() + EEPROM_WRITE);
}

void mends_apply(avr_t *avr) {
    if (!mends_are_wanted) return;
    chip = avr;
    avr_irq_register_notify(avr_iomem_getirq(avr, UBRR0L, "ubrr0l", AVR_IOMEM_IRQ_ALL), baud_rate_written, NULL);
    avr_irq_register_notify(avr_iomem_getirq(avr, EECR, "eecr", AVR_IOMEM_IRQ_ALL), eeprom_control_written, NULL);
}
