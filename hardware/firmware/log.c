#include "log.h"

#include "boot.h"
#include "calendar.h"
#include "clock.h"
#include "frames.h"
#include "page.h"
#include "probes.h"
#include "report.h"
#include "ring.h"
#include "scanner.h"

#include <avr/wdt.h>
#include <string.h>

/* How far from its place in the rhythm a scan may lie on a page. */
#define JITTER_MS 500
#define NEARLY_FULL_PAGES 64U

/* Offsets in the payload of a table page */
enum {
    BOARD_ID,
    UTC = 4,
    CLOCK = 8,
    RESET_CAUSE,
    PROTOCOL,
    ROMS = LOG_ROMS_OFFSET - LOG_HEADER_BYTES,
    CLOCK_SETS = LOG_SETS_OFFSET - LOG_HEADER_BYTES
};

static bool is_open;      /* ring_page may take another scan */
static bool has_table;    /* a table page of this boot was written, of this table and of a clock set so often: */
static uint8_t logged_table;
static uint8_t logged_sets;
static __uint24 acknowledged;

static __uint24 send_page;
static uint16_t send_count;
static uint8_t send_part;

void log_init(void) {
    ring_init(boot_reset_cause() == RESET_CAUSE_POWER_ON);
    has_table = false;
}

bool log_mount_step(void) {
    if (ring_store() != LOG_STORE_MOUNTING) return false;
    if (ring_mount_step()) return true;
    if (ring_page.number != 0U && acknowledged == 0U && ring_page.number > ring_page.unacknowledged)
        acknowledged = ring_page.number - 1U - ring_page.unacknowledged;
    report_log_state();
    return false;
}

uint16_t log_room(void) {
    uint16_t pages = ring_store() == LOG_STORE_RAM ? 2U : LOG_PAGES - 1U;
    __uint24 used = ring_newest() - acknowledged;
    return used >= pages ? 0U : pages - (uint16_t)used;
}

static bool is_power_of_two(uint16_t value) {
    return (value & (value - 1U)) == 0U;
}

/* Pages that are overwritten and that no host has, at most FFFFh. */
static uint16_t lost_pages(void) {
    if (ring_oldest() <= acknowledged + 1U) return 0;
    __uint24 lost = ring_oldest() - 1U - acknowledged;
    return lost > 0xFFFFU ? 0xFFFFU : (uint16_t)lost;
}

static void warn(void) {
    uint16_t room = log_room();
    uint16_t lost = lost_pages();
    if (ring_store() != LOG_STORE_MEMORY) return;
    if (lost > 0U) {
        if (is_power_of_two(lost)) report_warning(WARNING_LOG_OVERWRITTEN, lost);
    } else if (room <= NEARLY_FULL_PAGES && is_power_of_two(room)) {
        report_warning(WARNING_LOG_NEARLY_FULL, room);
    }
}

bool log_needs_host(void) {
    return ring_store() == LOG_STORE_RAM || (ring_store() == LOG_STORE_MEMORY && log_room() <= NEARLY_FULL_PAGES);
}

static void begin(uint8_t kind, uint32_t scan, uint32_t at_ms) {
    ring_begin();
    warn();
    ring_page.kind_and_probes = page_kind_and_probes(kind, probes_count(), calendar_sets());
    ring_page.boot = boot_count();
    ring_page.ms = at_ms;
    ring_page.scan = scan;
    ring_page.table = probes_table();
}

static void note_unacknowledged(void) {
    __uint24 pages = ring_newest() - 1U - acknowledged;
    ring_page.unacknowledged = pages > 0xFFFFU ? 0xFFFFU : (uint16_t)pages;
}

static void finish(void) {
    is_open = false;
    note_unacknowledged();
    ring_finish();
    report_log_state();
}

static void put_table(uint32_t scan, uint8_t first) {
    uint32_t now = clock_ms();
    uint32_t board = boot_board_id();
    uint32_t utc = calendar_utc(now);
    uint8_t *payload = ring_page.payload;
    begin(LOG_KIND_TABLE, scan, now);
    ring_page.scans = first;
    memcpy(&payload[BOARD_ID], &board, sizeof board);
    memcpy(&payload[UTC], &utc, sizeof utc);
    payload[CLOCK] = (uint8_t)calendar_state();
    payload[RESET_CAUSE] = (uint8_t)boot_reset_cause();
    payload[PROTOCOL] = PROTOCOL_VERSION;
    payload[CLOCK_SETS] = calendar_sets();
    for (uint8_t i = first; i < probes_count() && ring_page.rhythm < LOG_ROMS_PER_PAGE; i++, ring_page.rhythm++)
        memcpy(&payload[ROMS + (i - first) * ROM_BYTES], probes_rom(i), ROM_BYTES);
    finish();
}

/* 12 bits: sixteenths, or a status that is not ok. */
static uint16_t value_of(const struct thermometer_reading *reading) {
    if (reading->status == STATUS_OK) return (uint16_t)reading->sixteenths & 0x0FFFU;
    return LOG_STATUS | (uint8_t)reading->status;
}

static void pack(uint8_t *into, const struct thermometer_reading *readings) {
    for (uint8_t i = 0; i < probes_count(); i++) {
        uint16_t value = value_of(&readings[i]);
        if ((i & 1U) == 0U) {
            *into++ = (uint8_t)(value >> 4);
            *into = (uint8_t)(value << 4);
        } else {
            *into++ |= (uint8_t)(value >> 8);
            *into++ = (uint8_t)value;
        }
    }
}

/* The scan keeps the rhythm of the open page, and there is room. */
static bool continues(uint32_t scan, uint32_t started_ms) {
    uint8_t bytes = page_scan_bytes(probes_count());
    uint32_t expected_ms = ring_page.ms + (uint32_t)ring_page.scans * page_period(&ring_page) * 1000UL;
    int32_t late_ms = (int32_t)(started_ms - expected_ms);
    return is_open && ring_page.table == probes_table() && page_period(&ring_page) == scanner_period() &&
           ring_page.scan + ring_page.scans == (__uint24)scan && late_ms <= JITTER_MS && late_ms >= -JITTER_MS &&
           (uint16_t)(ring_page.scans + 1U) * bytes <= PAGE_PAYLOAD_BYTES;
}

static bool is_table_logged(void) {
    return has_table && logged_table == probes_table() && logged_sets == calendar_sets();
}

static void begin_scans(uint32_t scan, uint32_t started_ms) {
    if (is_open) finish();
    if (!is_table_logged()) {
        uint8_t first = 0;
        do {
            put_table(scan, first);
            first += LOG_ROMS_PER_PAGE;
        } while (first < probes_count());
        logged_table = probes_table();
        logged_sets = calendar_sets();
        has_table = true;
    }
    begin(LOG_KIND_SCANS, scan, started_ms);
    ring_page.rhythm = page_rhythm(scanner_period(), calendar_state() == CLOCK_RUNNING ? calendar_utc(started_ms) : 0UL);
    is_open = true;
}

void log_scan(uint32_t scan, uint32_t started_ms, const struct thermometer_reading *readings) {
    uint8_t bytes = page_scan_bytes(probes_count());
    if (scan < 2U) return; /* nothing but first conversions */
    while (log_mount_step()) wdt_reset();
    if (!is_table_logged() || !continues(scan, started_ms)) begin_scans(scan, started_ms);
    pack(&ring_page.payload[ring_page.scans * bytes], readings);
    ring_page.scans++;
    note_unacknowledged();
    page_seal(&ring_page);
    ring_save();
    if ((uint16_t)(ring_page.scans + 1U) * bytes > PAGE_PAYLOAD_BYTES) finish();
    ring_retry(); /* mounted before the next scan, step by step */
}

bool log_acknowledge(__uint24 page) {
    if (page > ring_newest() || (is_open && page == ring_newest())) return false;
    if (page > acknowledged) acknowledged = page;
    return true;
}

uint16_t log_send(__uint24 page, uint16_t count) {
    if (page < ring_oldest()) {
        __uint24 skipped = ring_oldest() - page;
        count = skipped >= count ? 0U : count - (uint16_t)skipped;
        page = ring_oldest();
    }
    __uint24 there = page > ring_newest() ? 0U : ring_newest() - page + 1U;
    send_page = page;
    send_count = count > there ? (uint16_t)there : count;
    send_part = 0;
    return send_count;
}

bool log_send_step(void) {
    uint8_t bytes[LOG_PART_BYTES];
    if (send_count == 0U) return false;
    if (ring_read(send_page, send_part, bytes)) {
        report_log_part(send_page, send_part, bytes);
        send_part++;
    } else {
        send_part = LOG_PAGE_BYTES / LOG_PART_BYTES; /* no such page, or damaged: nothing of it */
    }
    if (send_part == LOG_PAGE_BYTES / LOG_PART_BYTES) {
        send_part = 0;
        send_page++;
        send_count--;
    }
    return true;
}

__uint24 log_open_page(void) {
    return ring_newest();
}

__uint24 log_acknowledged(void) {
    return acknowledged;
}
