#include "scanner.h"

#include "alarms.h"
#include "clock.h"
#include "commands.h"
#include "frames.h"
#include "log.h"
#include "probes.h"
#include "report.h"
#include "settings.h"
#include "thermometer.h"

#define SEARCH_PERIOD_MS 60000UL
#define PROBELESS_PERIOD_MS 10000UL

static enum { SEARCHING, WAITING, CONVERTING, READING } state;
static uint32_t scanned_at; /* when the scan before was due */
static uint32_t scan_at;
static uint8_t period;      /* that follows from it */
static bool search_is_wanted;
static uint32_t search_at;
static uint32_t read_at;
static uint8_t index;

static uint32_t started_ms; /* of the conversion under way */
static uint32_t scan;
static struct thermometer_reading readings[PROBES_MAX];

void scanner_init(void) {
    probes_search_begin();
    state = SEARCHING;
    scan_at = clock_ms();
    scanned_at = scan_at;
    search_at = scan_at + SEARCH_PERIOD_MS;
}

static bool search(void) {
    if (probes_search_step()) return true;
    if (search_is_wanted) report_probes();
    search_is_wanted = false;
    state = WAITING;
    return true;
}

static void start_scan(uint32_t now) {
    period = scanner_period();
    while (clock_due(now, scan_at)) {
        scanned_at = scan_at;
        scan_at += period * 1000UL;
    }
    thermometer_convert_all();
    started_ms = clock_ms();
    read_at = started_ms + THERMOMETER_CONVERSION_MS;
    index = 0;
    scan++;
    state = CONVERTING;
}

static bool start_search(void) {
    probes_search_begin();
    state = SEARCHING;
    return true;
}

/* A host that comes or goes, or another setting, counts from the scan before. */
static void follow_period(void) {
    if (period == scanner_period() || scanned_at == scan_at) return;
    period = scanner_period();
    scan_at = scanned_at + period * 1000UL;
}

static bool wait(uint32_t now) {
    follow_period();
    if (clock_due(now, scan_at) && probes_count() > 0U) {
        start_scan(now);
        return false;
    }
    /* Without any probe a search takes the place of each scan. */
    if (clock_due(now, scan_at)) {
        scan_at = now + PROBELESS_PERIOD_MS;
        return start_search();
    }
    if (search_is_wanted || clock_due(now, search_at)) {
        search_at = now + SEARCH_PERIOD_MS;
        return start_search();
    }
    return false;
}

/* Reads one probe; the last one ends the scan. */
static bool read_one(void) {
    struct thermometer_reading *reading = &readings[index];
    *reading = thermometer_read(probes_rom(index));
    probes_judge(index, reading);
    index++;
    if (index < probes_count()) return true;
    report_scan(scan, started_ms, readings);
    log_scan(scan, started_ms, readings);
    alarms_scan(readings);
    state = WAITING;
    return true;
}

bool scanner_step(void) {
    uint32_t now = clock_ms();
    switch (state) {
        case SEARCHING:
            return search();
        case WAITING:
            return wait(now);
        case CONVERTING:
            if (!clock_due(now, read_at)) return false;
            state = READING;
            return true;
        case READING:
            return read_one();
    }
    return false;
}

uint8_t scanner_period(void) {
    return commands_host_listens() ? settings_period_with_host() : settings_period_alone();
}

void scanner_search_now(void) {
    search_is_wanted = true;
}
