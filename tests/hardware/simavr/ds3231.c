#include "ds3231.h"

#include "agenda.h"
#include "i2c.h"

#include <string.h>

enum { SECONDS, MINUTES, HOURS, DAY, DATE, MONTH, YEAR, TIME_REGISTERS, CONTROL = 0x0E, STATUS, REGISTERS = 0x13 };

#define OSF 0x80U
#define EN32KHZ 0x08U
#define CONTROL_AT_POWER_UP 0x1CU

static uint8_t counters[TIME_REGISTERS]; /* as they run */
static uint8_t registers[REGISTERS];     /* what the bus sees: of the time a copy */
static uint64_t second_began;
static uint8_t pointer;
static bool is_pointer_next;

/* Counts one up in BCD; true when it passes `last` and begins again at `first`. */
static bool count(uint8_t *bcd, uint8_t first, uint8_t last) {
    if (*bcd == last) {
        *bcd = first;
        return true;
    }
    *bcd = (*bcd & 0x0FU) == 9U ? (uint8_t)((*bcd & 0xF0U) + 0x10U) : (uint8_t)(*bcd + 1U);
    return false;
}

/* Leap years are those that four divides: right until 2100. */
static uint8_t last_date(uint8_t month, uint8_t year) {
    unsigned years = (year >> 4) * 10U + (year & 0x0FU);
    switch (month & 0x1FU) {
        case 0x02: return years % 4U == 0U ? 0x29 : 0x28;
        case 0x04: case 0x06: case 0x09: case 0x11: return 0x30;
        default: return 0x31;
    }
}

static void count_second(void) {
    if (!count(&counters[SECONDS], 0x00, 0x59) || !count(&counters[MINUTES], 0x00, 0x59) ||
        !count(&counters[HOURS], 0x00, 0x23))
        return;
    (void)count(&counters[DAY], 1, 7);
    if (count(&counters[DATE], 0x01, last_date(counters[MONTH], counters[YEAR])) &&
        count(&counters[MONTH], 0x01, 0x12))
        (void)count(&counters[YEAR], 0x00, 0x99);
}

static void run(void) {
    for (; agenda_now() - second_began >= CRYSTAL_HZ; second_began += CRYSTAL_HZ) count_second();
}

static void copy_time(void) {
    run();
    memcpy(registers, counters, sizeof counters);
}

/* The copy is made at a START and when the pointer comes round to 00h. */
static void step(void) {
    pointer = (uint8_t)((pointer + 1U) % REGISTERS);
    if (pointer == 0U) copy_time();
}

static bool addressed(bool is_read) {
    is_pointer_next = !is_read;
    copy_time();
    return true;
}

/* The countdown chain is reset when the seconds are written, on the acknowledgement. OSF can be cleared, not set. */
static bool written(uint8_t byte) {
    if (is_pointer_next) {
        pointer = byte % REGISTERS;
        is_pointer_next = false;
        return true;
    }
    if (pointer == STATUS) byte = (uint8_t)((byte & ~OSF) | (registers[STATUS] & byte & OSF));
    registers[pointer] = byte;
    if (pointer < TIME_REGISTERS) counters[pointer] = byte;
    if (pointer == SECONDS) second_began = agenda_now();
    step();
    return true;
}

static uint8_t read_byte(void) {
    uint8_t byte = registers[pointer];
    step();
    return byte;
}

static void ended(bool is_stop) {
    (void)is_stop;
}

static const struct i2c_chip chip = {0x68, addressed, written, read_byte, ended};

void ds3231_attach(void) {
    counters[DAY] = counters[DATE] = counters[MONTH] = 0x01;
    registers[CONTROL] = CONTROL_AT_POWER_UP;
    registers[STATUS] = OSF | EN32KHZ;
    i2c_add(&chip);
}
