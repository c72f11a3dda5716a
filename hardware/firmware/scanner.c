#include "scanner.h"

#include "clock.h"
#include "frames.h"
#include "probes.h"
#include "report.h"
#include "thermometer.h"

#define SCAN_PERIOD_MS 10000UL
#define SEARCH_PERIOD_MS 60000UL

static enum { SEARCHING, WAITING, CONVERTING, READING } state;
static uint32_t scan_at;
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
    search_at = scan_at + SEARCH_PERIOD_MS;
}

static bool search(void) {
    if (probes_search_step()) return true;
    state = WAITING;
    return true;
}

static void start_scan(uint32_t now) {
    while (clock_due(now, scan_at)) scan_at += SCAN_PERIOD_MS;
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

static bool wait(uint32_t now) {
    if (clock_due(now, scan_at) && probes_count() > 0U) {
        start_scan(now);
        return false;
    }
    /* Without any probe a search takes the place of each scan. */
    if (clock_due(now, scan_at)) {
        scan_at = now + SCAN_PERIOD_MS;
        return start_search();
    }
    if (clock_due(now, search_at)) {
        search_at = now + SEARCH_PERIOD_MS;
        return start_search();
    }
    return false;
}

/* Reads one probe; the last one ends the scan. */
static bool read_one(void) {
    struct thermometer_reading *reading = &readings[index];
    *reading = thermometer_read(probes_rom(index));
    if (reading->status == STATUS_OK && probes_is_fresh(index)) {
        reading->status = STATUS_FIRST_CONVERSION;
        probes_converted(index);
    }
    if (reading->status == STATUS_BAD_CONFIGURATION) (void)thermometer_configure(probes_rom(index));
    index++;
    if (index < probes_count()) return true;
    report_scan(scan, started_ms, readings);
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
