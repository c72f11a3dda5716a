#include "marks.h"

#include "boot.h"
#include "calendar.h"
#include "frames.h"
#include "onewire.h"
#include "report.h"

#include <avr/eeprom.h>

struct mark_record {
    struct mark mark;
    uint8_t crc;
} __attribute__((packed));

static uint8_t next_place;
static uint8_t next_number;
static uint8_t left_to_send;

static void *address_of(uint8_t place) {
    return (void *)(MARKS_ADDRESS + place * sizeof(struct mark_record));
}

static uint8_t crc_of(const struct mark_record *record) {
    return onewire_crc8((const uint8_t *)record, sizeof record->mark) ^ 0x5AU;
}

static bool read_mark(uint8_t place, struct mark *into) {
    struct mark_record record;
    eeprom_read_block(&record, address_of(place), sizeof record);
    *into = record.mark;
    /* What older firmware left there may fit by chance. */
    return record.crc == crc_of(&record) && record.mark.boot <= boot_count();
}

/* The newest is the one that no other follows: numbers of marks that are kept lie less than half a turn apart. */
void marks_init(void) {
    struct mark mark;
    bool any = false;
    for (uint8_t place = 0; place < MARKS_MAX; place++) {
        if (!read_mark(place, &mark)) continue;
        if (any && (int8_t)(mark.number - next_number) < 0) continue;
        any = true;
        next_number = mark.number + 1U;
        next_place = (place + 1U) % MARKS_MAX;
    }
}

void marks_stamp(uint32_t at_ms) {
    /* What the crystal goes on from is no time of the chip. */
    uint32_t utc = calendar_state() == CLOCK_RUNNING ? calendar_utc(at_ms) : 0UL;
    struct mark_record record = {
        .mark = {.number = next_number++,
                 .boot = boot_count(),
                 .at_ms = at_ms,
                 .utc = utc,
                 .clock_sets = calendar_sets()}};
    record.crc = crc_of(&record);
    report_mark(&record.mark);
    eeprom_update_block(&record, address_of(next_place), sizeof record);
    next_place = (next_place + 1U) % MARKS_MAX;
}

uint8_t marks_count(void) {
    struct mark unused;
    uint8_t count = 0;
    for (uint8_t place = 0; place < MARKS_MAX; place++) count += read_mark(place, &unused) ? 1U : 0U;
    return count;
}

void marks_send_all(void) {
    left_to_send = MARKS_MAX;
}

bool marks_step(void) {
    struct mark mark;
    if (left_to_send == 0U) return false;
    if (read_mark((next_place + MARKS_MAX - left_to_send) % MARKS_MAX, &mark)) report_mark(&mark);
    left_to_send--;
    return true;
}
