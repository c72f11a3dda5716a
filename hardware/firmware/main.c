/* Firmware of the carrier's board: initialise in order, then one loop that sleeps between events. */
#include "alarms.h"
#include "boot.h"
#include "button.h"
#include "calendar.h"
#include "clock.h"
#include "commands.h"
#include "i2c.h"
#include "log.h"
#include "marks.h"
#include "onewire.h"
#include "probes.h"
#include "report.h"
#include "scanner.h"
#include "signals.h"
#include "thermometer.h"
#include "uart.h"

#include <avr/interrupt.h>
#include <avr/wdt.h>

/* Longer than any single piece of work (150 ms), and than a full ring takes to send (70 ms). */
#define WATCHDOG_TIMEOUT WDTO_2S

/* The very first boot: the id of the board wants the probes. */
static void identify(void) {
    probes_search_begin();
    while (probes_search_step()) wdt_reset();
    boot_identify();
}

static void take_button(void) {
    uint32_t pressed_ms;
    enum button_event event = button_take(&pressed_ms);
    if (event == BUTTON_SHORT) marks_stamp(pressed_ms);
    else if (event == BUTTON_LONG) alarms_mute();
}

int main(void) {
    wdt_enable(WATCHDOG_TIMEOUT);
    boot_init();
    clock_init();
    uart_init();
    onewire_init();
    i2c_init();
    button_init();
    signals_init();
    thermometer_choose_mark((uint8_t)boot_count());
    sei();
    calendar_init();
    marks_init();
    log_init();
    if (!boot_is_identified()) identify();
    /* A line that the reset cut short must not run into the boot line. */
    uart_put('\r');
    uart_put('\n');
    report_boot();
    scanner_init();
    for (;;) {
        wdt_reset();
        report_due();
        take_button();
        calendar_step();
        alarms_step();
        signals_step();
        bool has_more = commands_step();
        has_more |= log_mount_step() || log_send_step() || marks_step();
        has_more |= scanner_step();
        if (!has_more) clock_idle();
    }
}
