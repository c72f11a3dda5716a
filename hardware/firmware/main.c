/* Firmware of the carrier's board: initialise in order, then one loop that sleeps between events. */
#include "boot.h"
#include "clock.h"
#include "onewire.h"
#include "probes.h"
#include "report.h"
#include "scanner.h"
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

int main(void) {
    wdt_enable(WATCHDOG_TIMEOUT);
    boot_init();
    clock_init();
    uart_init();
    onewire_init();
    sei();
    if (!boot_is_identified()) identify();
    /* A line that the reset cut short must not run into the boot line. */
    uart_put('\r');
    uart_put('\n');
    report_boot();
    scanner_init();
    for (;;) {
        wdt_reset();
        report_due();
        if (!scanner_step()) clock_idle();
    }
}
