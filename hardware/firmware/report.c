#include "report.h"

#include "alarms.h"
#include "boot.h"
#include "calendar.h"
#include "clock.h"
#include "frames.h"
#include "line.h"
#include "log.h"
#include "probes.h"
#include "ring.h"
#include "settings.h"

#define FIRMWARE_VERSION "0.3.0"
/* No host waits a whole second for the next one, though a turn of the loop may hold it up: 380 ms were seen, with sixteen
 * probes on a noisy bus, all slots being set, the bus searched and the log sent again. */
#define HEARTBEAT_PERIOD_MS 500UL
#define ANNOUNCEMENT_PERIOD_MS 60000UL

static uint32_t heartbeat_at;
static uint32_t announcement_at;

void report_board(void) {
    line_begin(FRAME_BOOT, clock_ms());
    line_field2(PROTOCOL_VERSION);
    line_field_text(FIRMWARE_VERSION);
    line_field8(boot_board_id());
    line_field_char(boot_reset_cause());
    line_field_char(calendar_state());
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
void report_probes(void) {
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
    report_clock();
}

void report_clock(void) {
    uint32_t now = clock_ms();
    line_begin(FRAME_CLOCK, now);
    line_field_char(calendar_state());
    line_field8(calendar_utc(now));
    line_field2(calendar_sets());
    line_end();
}

void report_log_state(void) {
    line_begin(FRAME_LOG_STATE, clock_ms());
    line_field_char(ring_store());
    line_field6(ring_oldest());
    line_field6(log_open_page());
    line_field6(log_acknowledged());
    line_field4(log_room());
    line_end();
}

void report_log_part(__uint24 page, uint8_t part, const uint8_t *bytes) {
    line_begin(FRAME_LOG_PAGE, clock_ms());
    line_field6(page);
    line_comma();
    line_hex1(part);
    line_comma();
    for (uint8_t i = 0; i < LOG_PART_BYTES; i++) line_hex2(bytes[i]);
    line_end();
}

void report_alarms(void) {
    line_begin(FRAME_ALARMS, clock_ms());
    line_field4(alarms_act());
    line_field4(alarms_due());
    line_field_char(alarms_are_muted() ? '1' : '0');
    line_end();
}

void report_mark(const struct mark *mark) {
    line_begin(FRAME_MARK, clock_ms());
    line_field2(mark->number);
    line_field4(mark->boot);
    line_field8(mark->at_ms);
    line_field8(mark->utc);
    line_field2(mark->clock_sets);
    line_end();
}

void report_warning(char warning, uint16_t detail) {
    line_begin(FRAME_WARNING, clock_ms());
    line_field_char(warning);
    line_field4(detail);
    line_end();
}

static void report_slot(uint8_t number, const struct settings_slot *slot) {
    line_begin(FRAME_SLOT, clock_ms());
    line_field2(number);
    line_comma();
    for (uint8_t i = 0; i < ROM_BYTES; i++) line_hex2(slot->rom[i]);
    line_field4(slot->cold);
    line_field4(slot->hot);
    line_field8(slot->due);
    line_end();
}

void report_settings(void) {
    line_begin(FRAME_SETTINGS, clock_ms());
    line_field2(settings_period_with_host());
    line_field2(settings_period_alone());
    line_field2(settings_slot_count());
    line_end();
    for (uint8_t i = 0; i < SLOTS_MAX; i++) {
        struct settings_slot slot;
        if (settings_slot(i, &slot)) report_slot(i + 1U, &slot);
    }
}

void report_answer_begin(char command, const char *sequence, char result) {
    line_begin(FRAME_ANSWER, clock_ms());
    line_field_char(command);
    line_comma();
    line_char(sequence[0]);
    line_char(sequence[1]);
    line_field_char(result);
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
        report_clock();
        report_probes();
        report_log_state();
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
