#include "settings.h"

#include "boot.h"
#include "frames.h"

#include <avr/eeprom.h>
#include <string.h>

struct periods {
    uint8_t with_host;
    uint8_t alone;
    uint8_t crc;
} __attribute__((packed));

struct slot_record {
    struct settings_slot slot;
    uint8_t crc;
} __attribute__((packed));

static void *slot_address(uint8_t slot) {
    return (void *)(SETTINGS_SLOTS_ADDRESS + slot * sizeof(struct slot_record));
}

/* CRC-8 of zeros is zero: a start that is not makes a blank record a wrong one. */
static uint8_t crc_of(const void *record, uint8_t bytes) {
    return onewire_crc8(record, bytes) ^ 0x5AU;
}

static struct periods read_periods(void) {
    struct periods kept;
    eeprom_read_block(&kept, (const void *)SETTINGS_PERIODS_ADDRESS, sizeof kept);
    if (kept.crc != crc_of(&kept, sizeof kept - 1U)) {
        kept.with_host = PERIOD_WITH_HOST_SECONDS;
        kept.alone = PERIOD_ALONE_SECONDS;
    }
    return kept;
}

uint8_t settings_period_with_host(void) {
    return read_periods().with_host;
}

uint8_t settings_period_alone(void) {
    return read_periods().alone;
}

void settings_set_periods(uint8_t with_host_seconds, uint8_t alone_seconds) {
    struct periods kept = {.with_host = with_host_seconds, .alone = alone_seconds};
    kept.crc = crc_of(&kept, sizeof kept - 1U);
    eeprom_update_block(&kept, (void *)SETTINGS_PERIODS_ADDRESS, sizeof kept);
}

bool settings_slot(uint8_t slot, struct settings_slot *into) {
    struct slot_record record;
    eeprom_read_block(&record, slot_address(slot), sizeof record);
    if (record.crc != crc_of(&record, sizeof record - 1U)) return false;
    *into = record.slot;
    return true;
}

static void write_slot(uint8_t slot, const struct slot_record *record) {
    eeprom_update_block(record, slot_address(slot), sizeof *record);
}

void settings_set_slot(uint8_t slot, const struct settings_slot *from) {
    struct slot_record record = {.slot = *from};
    record.crc = crc_of(&record, sizeof record - 1U);
    write_slot(slot, &record);
}

void settings_clear_slot(uint8_t slot) {
    struct slot_record record;
    memset(&record, 0xFF, sizeof record);
    write_slot(slot, &record);
}

uint8_t settings_slot_count(void) {
    struct settings_slot unused;
    uint8_t count = 0;
    for (uint8_t i = 0; i < SLOTS_MAX; i++) count += settings_slot(i, &unused) ? 1U : 0U;
    return count;
}

/* Two records, written in turn. */
struct clock_sets {
    uint8_t count;
    uint8_t crc;
} __attribute__((packed));

static void *clock_sets_address(uint8_t count) {
    return (void *)(CLOCK_SETS_ADDRESS + (count & 1U) * sizeof(struct clock_sets));
}

static bool read_clock_sets(uint8_t parity, uint8_t *count) {
    struct clock_sets kept;
    eeprom_read_block(&kept, clock_sets_address(parity), sizeof kept);
    *count = kept.count;
    return kept.crc == crc_of(&kept, sizeof kept - 1U);
}

uint8_t settings_clock_sets(void) {
    uint8_t even;
    uint8_t odd;
    bool even_is_good = read_clock_sets(0, &even);
    bool odd_is_good = read_clock_sets(1U, &odd);
    if (!odd_is_good) return even_is_good ? even : 0U;
    return even_is_good && (int8_t)(even - odd) > 0 ? even : odd;
}

void settings_count_clock_set(void) {
    struct clock_sets next = {.count = settings_clock_sets() + 1U};
    next.crc = crc_of(&next, sizeof next - 1U);
    eeprom_update_block(&next, clock_sets_address(next.count), sizeof next);
    eeprom_busy_wait();
}
