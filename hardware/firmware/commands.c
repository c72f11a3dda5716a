#include "commands.h"

#include "alarms.h"
#include "calendar.h"
#include "clock.h"
#include "frames.h"
#include "line.h"
#include "log.h"
#include "marks.h"
#include "probes.h"
#include "report.h"
#include "rtc.h"
#include "scanner.h"
#include "settings.h"
#include "uart.h"

#include <string.h>
#include <util/crc16.h>

/* "!K,qq" and "*cccc" */
#define HEAD_BYTES 5U
#define TAIL_BYTES 5U

/* The line under way, from its '!' on, without CR and LF. */
static char text[COMMAND_BYTES_MAX];
static uint8_t length;
static bool is_too_long;

static uint32_t heard_at;
static bool was_heard;

/* The fields not read yet. */
static const char *field;
static const char *fields_end;

static uint8_t nibble(char digit) {
    if (digit >= '0' && digit <= '9') return (uint8_t)(digit - '0');
    if (digit >= 'A' && digit <= 'F') return (uint8_t)(digit - 'A' + 10);
    return 0xFFU;
}

static bool read_hex(const char *digits, uint8_t count, uint32_t *value) {
    *value = 0;
    while (count-- > 0U) {
        uint8_t digit = nibble(*digits++);
        if (digit > 0x0FU) return false;
        *value = *value << 4 | digit;
    }
    return true;
}

/* Reads the next digits without a comma; the field must hold them. */
static bool take_digits(uint8_t count, uint32_t *value) {
    if (fields_end - field < count || !read_hex(field, count, value)) return false;
    field += count;
    return true;
}

static bool take_comma(void) {
    return field < fields_end && *field++ == ',';
}

static bool take(uint8_t digits, uint32_t *value) {
    return take_comma() && take_digits(digits, value);
}

static bool take_rom(uint8_t rom[ROM_BYTES]) {
    uint32_t byte;
    if (!take_comma()) return false;
    for (uint8_t i = 0; i < ROM_BYTES; i++) {
        if (!take_digits(2U, &byte)) return false;
        rom[i] = (uint8_t)byte;
    }
    return true;
}

static bool is_all_read(void) {
    return field == fields_end;
}

/* Slots are said from 1 and kept from 0. */
static bool is_slot(uint32_t said) {
    return said >= 1U && said <= SLOTS_MAX;
}

static bool is_period(uint32_t seconds) {
    return seconds >= PERIOD_SECONDS_MIN && seconds <= PERIOD_SECONDS_MAX;
}

static void answer_begin(char result) {
    report_answer_begin(text[1], &text[3], result);
}

static void answer(char result) {
    answer_begin(result);
    line_end();
}

static void identify(void) {
    answer(RESULT_DONE);
    report_board();
    report_clock();
    report_probes();
    report_log_state();
    report_alarms();
}

static char set_time(void) {
    uint32_t utc;
    uint32_t now = clock_ms();
    if (!take(8U, &utc) || !is_all_read()) return RESULT_BAD_FIELD;
    if (!rtc_can_hold(utc)) return RESULT_OUT_OF_RANGE;
    answer_begin(calendar_set(utc, now) ? RESULT_DONE : RESULT_UNAVAILABLE);
    line_field_char(calendar_state());
    line_end();
    report_clock();
    return 0;
}

static char set_period(void) {
    uint32_t with_host;
    uint32_t alone;
    if (!take(2U, &with_host) || !take(2U, &alone) || !is_all_read()) return RESULT_BAD_FIELD;
    if (!is_period(with_host) || !is_period(alone)) return RESULT_OUT_OF_RANGE;
    settings_set_periods((uint8_t)with_host, (uint8_t)alone);
    return RESULT_DONE;
}

static bool is_limit(uint32_t limit) {
    return limit == LIMIT_NONE || ((int16_t)limit >= -55 * 16 && (int16_t)limit <= 125 * 16);
}

static bool is_blank(const uint8_t rom[ROM_BYTES]) {
    for (uint8_t i = 0; i < ROM_BYTES; i++) {
        if (rom[i] != 0U) return false;
    }
    return true;
}

static char set_limits(void) {
    struct settings_slot slot;
    struct settings_slot before;
    uint32_t said;
    uint32_t cold;
    uint32_t hot;
    if (!take(2U, &said) || !take_rom(slot.rom) || !take(4U, &cold) || !take(4U, &hot) || !is_all_read())
        return RESULT_BAD_FIELD;
    if (!is_slot(said) || !is_limit(cold) || !is_limit(hot)) return RESULT_OUT_OF_RANGE;
    if (cold != LIMIT_NONE && hot != LIMIT_NONE && (int16_t)cold >= (int16_t)hot) return RESULT_OUT_OF_RANGE;
    uint8_t index = (uint8_t)(said - 1U);
    if (is_blank(slot.rom)) {
        settings_clear_slot(index);
    } else {
        if (!thermometer_is_one(slot.rom) || onewire_crc8(slot.rom, ROM_BYTES) != 0U) return RESULT_OUT_OF_RANGE;
        bool is_same = settings_slot(index, &before) && memcmp(before.rom, slot.rom, ROM_BYTES) == 0;
        slot.cold = (uint16_t)cold;
        slot.hot = (uint16_t)hot;
        slot.due = is_same ? before.due : 0UL;
        settings_set_slot(index, &slot);
    }
    answer(RESULT_DONE);
    alarms_forget(index);
    return 0;
}

static char set_due(void) {
    struct settings_slot slot;
    uint32_t said;
    uint32_t due;
    if (!take(2U, &said) || !take(8U, &due) || !is_all_read()) return RESULT_BAD_FIELD;
    if (!is_slot(said) || (due != 0UL && !rtc_can_hold(due))) return RESULT_OUT_OF_RANGE;
    uint8_t index = (uint8_t)(said - 1U);
    if (!settings_slot(index, &slot)) return RESULT_UNAVAILABLE;
    slot.due = due;
    settings_set_slot(index, &slot);
    return RESULT_DONE;
}

static char acknowledge(void) {
    uint32_t page;
    if (!take(6U, &page) || !is_all_read()) return RESULT_BAD_FIELD;
    return log_acknowledge(page) ? RESULT_DONE : RESULT_UNAVAILABLE;
}

static char resend(void) {
    uint32_t page;
    uint32_t count;
    if (!take(6U, &page) || !take(4U, &count) || !is_all_read()) return RESULT_BAD_FIELD;
    answer_begin(RESULT_DONE);
    line_field4(log_send(page, (uint16_t)count));
    line_end();
    return 0;
}

static void send_marks(void) {
    answer_begin(RESULT_DONE);
    line_field2(marks_count());
    line_end();
    marks_send_all();
}

static void send_settings(void) {
    answer(RESULT_DONE);
    report_settings();
}

/* Does what the checked line says; the result that is still to be answered, or 0. */
static char obey(char command) {
    switch (command) {
        case COMMAND_TIME: return set_time();
        case COMMAND_PERIOD: return set_period();
        case COMMAND_LIMITS: return set_limits();
        case COMMAND_DUE: return set_due();
        case COMMAND_ACKNOWLEDGE: return acknowledge();
        case COMMAND_RESEND: return resend();
        default: break;
    }
    if (command != COMMAND_IDENTIFY && command != COMMAND_MARKS && command != COMMAND_SEARCH &&
        command != COMMAND_SETTINGS)
        return RESULT_UNKNOWN_COMMAND;
    if (!is_all_read()) return RESULT_BAD_FIELD;
    if (command == COMMAND_IDENTIFY) identify();
    else if (command == COMMAND_MARKS) send_marks();
    else if (command == COMMAND_SETTINGS) send_settings();
    else {
        scanner_search_now();
        return RESULT_DONE;
    }
    return 0;
}

/* '!', K, ',', two digits, fields, and a CRC that is right. */
static bool is_framed(void) {
    uint32_t told;
    uint32_t sequence;
    uint16_t crc = 0xFFFFU;
    uint8_t body = length - TAIL_BYTES;
    if (length < HEAD_BYTES + TAIL_BYTES || text[body] != '*' || !read_hex(&text[body + 1U], 4U, &told)) return false;
    for (uint8_t i = 1; i < body; i++) crc = _crc_xmodem_update(crc, (uint8_t)text[i]);
    return crc == told && text[1] >= 'A' && text[1] <= 'Z' && text[2] == ',' && read_hex(&text[3], 2U, &sequence);
}

static void take_line(void) {
    if (is_too_long || !is_framed()) {
        report_answer_begin('?', "00", is_too_long ? RESULT_TOO_LONG : RESULT_BAD_CRC);
        line_end();
        return;
    }
    field = &text[HEAD_BYTES];
    fields_end = &text[length - TAIL_BYTES];
    char result = obey(text[1]);
    if (result != 0) answer(result);
    if (result != 0 && result != RESULT_DONE) return;
    was_heard = true;
    heard_at = clock_ms();
}

/* Adds a byte; true when it ends a line. */
static bool add(char byte) {
    if (byte == '\n') return length > 0U;
    if (byte == '\r' || (length == 0U && byte != '!')) return false;
    if (length < sizeof text) text[length++] = byte;
    else is_too_long = true;
    return false;
}

bool commands_step(void) {
    uint8_t byte;
    while (uart_take(&byte)) {
        if (!add((char)byte)) continue;
        take_line();
        length = 0;
        is_too_long = false;
        return true;
    }
    if (was_heard && clock_ms() - heard_at >= HOST_SILENCE_SECONDS * 1000UL) was_heard = false;
    return false;
}

bool commands_host_listens(void) {
    return was_heard;
}
