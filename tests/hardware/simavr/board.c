#include "board.h"

#include "agenda.h"
#include "i2c.h"
#include "mends.h"
#include "onewire.h"

#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_hex.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ONEWIRE_BIT 2U
#define BUTTON_BIT 4U
#define SDA_BIT 4U
#define SCL_BIT 5U
#define LED_BIT 5U
#define PIEZO_BIT 3U
#define SRAM_START 0x100U

static avr_t *chip;
static struct board_listener tell;
static unsigned driven_high;
static unsigned piezo_edges;
static unsigned resets_with_sda_held;

static avr_irq_t *port_irq(char port, unsigned index) {
    return avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ(port), (int)index);
}

/* ---- open-drain lines: the direction bit pulls ---- */

static void check_port(char port, uint32_t outputs, uint32_t lines) {
    avr_ioport_state_t state;
    avr_ioctl(chip, AVR_IOCTL_IOPORT_GETSTATE(port), &state);
    if (state.port & outputs & lines) driven_high++;
}

static void portd_direction(struct avr_irq_t *irq, uint32_t outputs, void *unused) {
    (void)irq;
    (void)unused;
    check_port('D', outputs, 1U << ONEWIRE_BIT);
    onewire_master((outputs >> ONEWIRE_BIT & 1U) != 0U);
}

static void portc_direction(struct avr_irq_t *irq, uint32_t outputs, void *unused) {
    (void)irq;
    (void)unused;
    check_port('C', outputs, 1U << SDA_BIT | 1U << SCL_BIT);
    i2c_master((outputs >> SDA_BIT & 1U) != 0U, (outputs >> SCL_BIT & 1U) != 0U);
}

/* A pin that the program lets go keeps its level in simavr until it is told another. */
static void show_onewire(bool is_high) {
    avr_raise_irq(port_irq('D', ONEWIRE_BIT), is_high);
}

static void show_i2c(bool sda, bool scl) {
    avr_raise_irq(port_irq('C', SDA_BIT), sda);
    avr_raise_irq(port_irq('C', SCL_BIT), scl);
}

/* ---- the button: to ground, with the pin's own pull-up ---- */

static bool button_is_pressed;

void board_press(bool is_pressed) {
    button_is_pressed = is_pressed;
    avr_ioport_external_t level = {
        .name = 'D', .mask = 1U << BUTTON_BIT, .value = is_pressed ? 0U : 1U << BUTTON_BIT};
    avr_ioctl(chip, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &level);
    avr_raise_irq(port_irq('D', BUTTON_BIT), !is_pressed);
}

/* ---- LED on PD5, piezo on PB3 (OC2A): simavr tells an edge of a timer's pin twice ---- */

static void led_changed(struct avr_irq_t *irq, uint32_t value, void *unused) {
    static bool was_on;
    bool is_on = value != 0U;
    (void)irq;
    (void)unused;
    if (is_on != was_on) tell.led(is_on);
    was_on = is_on;
}

static void piezo_changed(struct avr_irq_t *irq, uint32_t value, void *unused) {
    static bool was_high;
    bool is_high = (value & 1U) != 0U;
    (void)irq;
    (void)unused;
    if (is_high != was_high) piezo_edges++;
    was_high = is_high;
}

static void attach_signals(void) {
    avr_irq_register_notify(port_irq('D', LED_BIT), led_changed, NULL);
    avr_irq_register_notify(port_irq('B', PIEZO_BIT), piezo_changed, NULL);
}

unsigned board_piezo_edges(void) {
    return piezo_edges;
}

/* ---- reset: simavr clears its registers, cycle timers and pins without a word to what is attached ---- */

static void again(avr_irq_t *irq, uint32_t value) {
    avr_raise_irq(irq, !value);
    avr_raise_irq(irq, value);
}

static void was_reset(avr_t *avr) {
    (void)avr;
    agenda_resume();
    avr_raise_irq(port_irq('D', IOPORT_IRQ_DIRECTION_ALL), 0);
    avr_raise_irq(port_irq('C', IOPORT_IRQ_DIRECTION_ALL), 0);
    if (i2c_chip_sends_zero()) resets_with_sda_held++;
    again(port_irq('D', ONEWIRE_BIT), onewire_is_high());
    again(port_irq('D', BUTTON_BIT), !button_is_pressed);
    again(port_irq('C', SDA_BIT), i2c_sda_is_high());
    again(port_irq('C', SCL_BIT), i2c_scl_is_high());
    avr_raise_irq(port_irq('D', LED_BIT), 0);
}

/* ---- USART0 ---- */

static void sent(struct avr_irq_t *irq, uint32_t value, void *unused) {
    (void)irq;
    (void)unused;
    tell.sent((uint8_t)value);
}

static void attach_usart0(void) {
    uint32_t none = 0; /* no copy of the lines on the console, no naps */
    avr_ioctl(chip, AVR_IOCTL_UART_SET_FLAGS('0'), &none);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, NULL);
}

void board_receive(uint8_t byte) {
    avr_raise_irq(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
}

/* ---- the chip ---- */

static void log_errors(avr_t *avr, const int level, const char *format, va_list arguments) {
    (void)avr;
    if (level <= LOG_ERROR) vfprintf(stderr, format, arguments);
}

/* simavr would sleep as long as the chip does. */
static void do_not_sleep(avr_t *avr, avr_cycle_count_t cycles) {
    (void)avr;
    (void)cycles;
}

static void load(const char *image) {
    uint32_t size;
    uint32_t start;
    uint8_t *code = read_ihex_file(image, &size, &start);
    if (code == NULL) {
        fprintf(stderr, "%s is no image in Intel hex\n", image);
        exit(1);
    }
    avr_loadcode(chip, code, size, start);
    chip->codeend = start + size;
    free(code);
}

void board_power_on(const char *image, const uint8_t sram[BOARD_SRAM_BYTES], struct board_listener listener) {
    tell = listener;
    avr_global_logger_set(log_errors);
    chip = avr_make_mcu_by_name("atmega328p");
    if (chip == NULL) exit(1);
    avr_init(chip);
    chip->frequency = CRYSTAL_HZ;
    chip->sleep = do_not_sleep;
    load(image);
    memcpy(&chip->data[SRAM_START], sram, BOARD_SRAM_BYTES);
    agenda_attach(chip);
    onewire_attach(show_onewire);
    i2c_attach(show_i2c);
    attach_usart0();
    attach_signals();
    mends_apply(chip);
    avr_irq_register_notify(port_irq('D', IOPORT_IRQ_DIRECTION_ALL), portd_direction, NULL);
    avr_irq_register_notify(port_irq('C', IOPORT_IRQ_DIRECTION_ALL), portc_direction, NULL);
    show_onewire(true);
    show_i2c(true, true);
    board_press(false);
    chip->reset = was_reset;
}

static void nothing(void *unused) {
    (void)unused;
}

/* Sleep ends at the next cycle timer: there is always one at `until`. */
void board_run(uint64_t until) {
    static struct event end = {.happen = nothing};
    agenda_set(&end, until);
    while (chip->cycle < until) {
        int state = avr_run(chip);
        if (state != cpu_Done && state != cpu_Crashed) continue;
        fprintf(stderr, "the program has ended at %.3f ms\n", (double)chip->cycle * 1000.0 / CRYSTAL_HZ);
        exit(1);
    }
}

/* The place where start-up code goes if main() ever returned. While it sleeps the chip goes there after the next
 * interrupt. */
void board_hang(void) {
    uint32_t address = 0;
    while (chip->flash[address] != 0xFF || chip->flash[address + 1U] != 0xCF) address += 2U;
    chip->pc = address;
}

unsigned board_resets_with_sda_held(void) {
    return resets_with_sda_held;
}

unsigned board_driven_high(void) {
    return driven_high;
}
