#include "probes.h"

#include "frames.h"
#include "report.h"

#include <string.h>

static uint8_t roms[PROBES_MAX][ROM_BYTES];
static uint8_t count;
static uint8_t table;
static uint16_t fresh; /* bit by index: no finished conversion was read yet */
static uint16_t missing; /* bit by index: did not answer when it was last read */
static bool changed;

static struct onewire_search search;
static uint16_t seen; /* bit by index: found by the search under way */
static bool added;
static bool is_waiting;
static uint8_t waiting[ROM_BYTES];

static bool is_known(const uint8_t rom[ROM_BYTES]) {
    for (uint8_t i = 0; i < count; i++) {
        if (memcmp(roms[i], rom, ROM_BYTES) == 0) {
            seen |= (uint16_t)(1U << i);
            return true;
        }
    }
    return false;
}

static void put(uint8_t index, const uint8_t rom[ROM_BYTES]) {
    memcpy(roms[index], rom, ROM_BYTES);
    seen |= (uint16_t)(1U << index);
    fresh |= (uint16_t)(1U << index);
    added = true;
}

/* A new probe gets the next free index. When there is none it waits for the end of the search, which tells
 * whether a probe of the table is gone. */
static void add(const uint8_t rom[ROM_BYTES]) {
    if (count < PROBES_MAX) {
        put(count++, rom);
    } else {
        memcpy(waiting, rom, ROM_BYTES);
        is_waiting = true;
    }
}

static void replace_one_that_is_gone(void) {
    for (uint8_t i = 0; i < PROBES_MAX; i++) {
        if (seen & (uint16_t)(1U << i)) continue;
        put(i, waiting);
        return;
    }
}

void probes_search_begin(void) {
    onewire_search_begin(&search);
    seen = 0;
    added = false;
    is_waiting = false;
}

bool probes_search_step(void) {
    /* A ROM id with a right CRC may still be noise: only a thermometer that answers to it is taken, be it never so damaged. */
    enum onewire_found found = onewire_search_next(&search);
    if (found == ONEWIRE_FOUND) {
        if (thermometer_is_one(search.rom) && !is_known(search.rom) && thermometer_configure(search.rom))
            add(search.rom);
        if (!search.finished) return true;
    }
    /* A search that broke off does not show that a probe is gone. */
    if (is_waiting && found != ONEWIRE_DAMAGED) replace_one_that_is_gone();
    if (added || table == 0U) {
        table = table == 0xFFU ? 1U : table + 1U;
        changed = true;
    }
    return false;
}

bool probes_take_changed(void) {
    bool was = changed;
    changed = false;
    return was;
}

/* A lost probe is told once, until it answers again. */
static void note_missing(uint8_t index, bool is_missing) {
    uint16_t bit = (uint16_t)(1U << index);
    if (is_missing && !(missing & bit)) report_warning(WARNING_PROBE_LOST, index);
    if (is_missing) missing |= bit;
    else missing &= (uint16_t)~bit;
}

void probes_judge(uint8_t index, struct thermometer_reading *reading) {
    uint16_t bit = (uint16_t)(1U << index);
    note_missing(index, reading->status == STATUS_MISSING);
    switch (reading->status) {
        case STATUS_OK:
            if (fresh & bit) reading->status = STATUS_FIRST_CONVERSION;
            fresh &= (uint16_t)~bit;
            break;
        case STATUS_RESTARTED:
        case STATUS_NOT_CONVERTED:
            fresh |= bit;
            (void)thermometer_configure(roms[index]);
            break;
        case STATUS_BAD_CONFIGURATION:
            (void)thermometer_configure(roms[index]);
            break;
        default:
            break;
    }
}

uint8_t probes_table(void) {
    return table;
}

uint8_t probes_count(void) {
    return count;
}

const uint8_t *probes_rom(uint8_t index) {
    return roms[index];
}
