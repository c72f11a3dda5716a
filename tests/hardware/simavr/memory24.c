#include "memory24.h"

#include "agenda.h"
#include "i2c.h"

#include <string.h>

#define PAGE_BYTES 128U
#define WRITE_CYCLE MILLISECONDS(5)

bool memory24_is_wrong;

static uint8_t cells[MEMORY24_BYTES];
static uint16_t address; /* the counter */
static unsigned address_bytes;
static uint8_t page[PAGE_BYTES];
static bool is_loaded[PAGE_BYTES];
static bool has_data;
static uint64_t busy_until;

static bool addressed(bool is_read) {
    if (agenda_now() < busy_until) return false;
    if (!is_read) address_bytes = 0;
    has_data = false;
    memset(is_loaded, 0, sizeof is_loaded);
    return true;
}

static bool written(uint8_t byte) {
    if (address_bytes < 2U) {
        address = (uint16_t)(address << 8 | byte);
        address_bytes++;
        return true;
    }
    uint16_t column = address % PAGE_BYTES;
    page[column] = byte;
    is_loaded[column] = true;
    has_data = true;
    address = (uint16_t)(address - column + (column + 1U) % PAGE_BYTES);
    return true;
}

static uint8_t read_byte(void) {
    uint8_t byte = cells[address++];
    return memory24_is_wrong ? byte ^ 0x01U : byte;
}

/* Only a STOP begins the write cycle. */
static void ended(bool is_stop) {
    uint16_t row = (uint16_t)(address - address % PAGE_BYTES);
    if (!is_stop || !has_data) return;
    for (unsigned i = 0; i < PAGE_BYTES; i++) {
        if (is_loaded[i]) cells[row + i] = page[i];
    }
    has_data = false;
    busy_until = agenda_now() + WRITE_CYCLE;
}

static const struct i2c_chip chip = {0x50, addressed, written, read_byte, ended};

void memory24_attach(void) {
    memset(cells, 0xFF, sizeof cells);
    i2c_add(&chip);
}

const uint8_t *memory24_bytes(void) {
    return cells;
}
