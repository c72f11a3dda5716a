#include "report.h"

#include "boot.h"
#include "clock.h"
#include "frames.h"
#include "line.h"
#include "probes.h"

#define FIRMWARE_VERSION "0.1.0"
#define HEARTBEAT_PERIOD_MS 1000UL
#define ANNOUNCEMENT_PERIOD_MS 60000UL

static uint32_t heartbeat_at;
static uint32_t announcement_at;

static void report_board(void) {
    line_begin(FRAME_BOOT, clock_ms());
    line_field2(PROTOCOL_VERSION);
    line_field_text(FIRMWARE_VERSION);
    line_field8(boot_board_id());
    line_field_char(boot_reset_cause());
    line_field_char(CLOCK_ABSENT);
    line_end();
}

static void probe_entry(uint8_t index) {
    const uint8_t *rom = probes_rom(index);
    line_comma();
    line_hex1(index);
    line_char('.');
    for (uint8_t i = 0; i < ROM_BYTES; i++) line_hex2(rom[i]);
}

/* At least one line, so that a host learns of an empty table too. */
static void report_probes(void) {
    uint32_t now = clock_ms();
    uint8_t index = 0;
    do {
        line_begin(FRAME_PROBES, now);
        line_field2(probes_table());
        line_field2(probes_count());
        for (uint8_t i = 0; i < PROBE_ENTRIES_PER_LINE && index < probes_count(); i++) probe_entry(index++);
        line_end();
    } while (index < probes_count());
}

void report_boot(void) {
    heartbeat_at = clock_ms();
    announcement_at = heartbeat_at + ANNOUNCEMENT_PERIOD_MS;
    report_board();
}

void report_due(void) {
    uint32_t now = clock_ms();
    if (clock_due(now, heartbeat_at)) {
        while (clock_due(now, heartbeat_at)) heartbeat_at += HEARTBEAT_PERIOD_MS;
        line_begin(FRAME_HEARTBEAT, now);
        line_end();
    }
    if (clock_due(now, announcement_at)) {
        announcement_at += ANNOUNCEMENT_PERIOD_MS;
        report_board();
        report_probes();
    } else if (probes_take_changed()) {
        report_probes();
    }
}

static void scan_entry(uint8_t index, const struct thermometer_reading *reading) {
    line_comma();
    line_hex1(index);
    line_char(reading->status);
    if (reading->has_raw) {
        line_hex4((uint16_t)reading->sixteenths);
    } else {
        for (uint8_t i = 0; i < 4U; i++) line_char('-');
    }
}

void report_scan(uint32_t scan, uint32_t started_ms, const struct thermometer_reading *readings) {
    uint8_t index = 0;
    while (index < probes_count()) {
        line_begin(FRAME_SCAN, started_ms);
        line_field2(probes_table());
        line_field8(scan);
        for (uint8_t i = 0; i < SCAN_ENTRIES_PER_LINE && index < probes_count(); i++, index++)
            scan_entry(index, &readings[index]);
        line_end();
    }
}
