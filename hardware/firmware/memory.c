#include "memory.h"

#include "frames.h"
#include "i2c.h"

#include <util/delay.h>

#define MEMORY_ADDRESS 0xA0U
/* A write takes 5 ms, by some makers' datasheets 10: polls of about 0.2 ms. */
#define POLLS_MAX 75U
#define POLL_PAUSE_US 130

/* Acknowledge polling: while it writes, the chip does not answer to its address. */
static bool select(uint16_t address) {
    for (uint8_t i = 0; i < POLLS_MAX; i++) {
        if (i2c_start(MEMORY_ADDRESS)) return i2c_write((uint8_t)(address >> 8)) && i2c_write((uint8_t)address);
        i2c_stop();
        _delay_us(POLL_PAUSE_US);
    }
    return false;
}

static bool read_bytes(uint16_t address, uint8_t *into, uint8_t count) {
    if (!select(address) || !i2c_start(MEMORY_ADDRESS | I2C_READ)) return false;
    while (count-- > 0U) {
        if (!i2c_read(into++, count == 0U)) return false;
    }
    return true;
}

bool memory_read(uint16_t address, void *into, uint8_t count) {
    bool done = read_bytes(address, into, count);
    i2c_stop();
    return done;
}

static bool write_bytes(uint16_t address, const uint8_t *bytes) {
    if (!select(address)) return false;
    for (uint8_t i = 0; i < LOG_PAGE_BYTES; i++) {
        if (!i2c_write(bytes[i])) return false;
    }
    return true;
}

bool memory_write_page(uint16_t address, const void *page) {
    bool done = write_bytes(address, page);
    i2c_stop();
    return done;
}
