#include "onewire.h"

#include "pins.h"

#include <avr/interrupt.h>
#include <util/crc16.h>
#include <util/delay.h>

/* For the test bench: an image that is built with this releases and samples late, and must be found out. */
#ifndef SLOT_ERROR_US
#define SLOT_ERROR_US 0
#endif

/* Microseconds. Windows of the DS18B20 datasheet: reset low 480-960, presence 15-60 later for 60-240,
 * slot 60-120, write-1 low 1-15, write-0 low 60-120, read sampled within 15, recovery at least 1. */
#define RESET_LOW_US 490
#define PRESENCE_SAMPLE_US 66
#define PRESENCE_REST_US 430
#define WRITE_1_LOW_US (5 + SLOT_ERROR_US)
#define WRITE_1_REST_US 62
#define WRITE_0_LOW_US (63 + SLOT_ERROR_US)
#define WRITE_0_REST_US 5
#define READ_LOW_US 2
#define READ_SAMPLE_US (9 + SLOT_ERROR_US) /* after the release */
#define READ_REST_US 56

static inline __attribute__((always_inline)) void line_low(void) {
    ONEWIRE_DDR |= _BV(ONEWIRE_BIT);
}

static inline __attribute__((always_inline)) void line_release(void) {
    ONEWIRE_DDR &= (uint8_t)~_BV(ONEWIRE_BIT);
}

static inline __attribute__((always_inline)) bool line_is_high(void) {
    return (ONEWIRE_PIN & _BV(ONEWIRE_BIT)) != 0;
}

void onewire_init(void) {
    line_release();
    ONEWIRE_PORT &= (uint8_t)~_BV(ONEWIRE_BIT);
}

bool onewire_reset(void) {
    bool present;
    if (!line_is_high()) return false;
    line_low();
    _delay_us(RESET_LOW_US); /* an interrupt only makes it longer, and 960 us is the limit */
    cli();
    line_release();
    _delay_us(PRESENCE_SAMPLE_US);
    present = !line_is_high();
    sei();
    _delay_us(PRESENCE_REST_US);
    return present && line_is_high();
}

static void write_bit(bool one) {
    cli();
    line_low();
    if (one) {
        _delay_us(WRITE_1_LOW_US);
        line_release();
        sei();
        _delay_us(WRITE_1_REST_US);
    } else {
        _delay_us(WRITE_0_LOW_US);
        line_release();
        sei();
        _delay_us(WRITE_0_REST_US);
    }
}

static bool read_bit(void) {
    bool one;
    cli();
    line_low();
    _delay_us(READ_LOW_US);
    line_release();
    _delay_us(READ_SAMPLE_US);
    one = line_is_high();
    sei();
    _delay_us(READ_REST_US);
    return one;
}

void onewire_write(uint8_t byte) {
    for (uint8_t bit = 0; bit < 8U; bit++) {
        write_bit((byte & 1U) != 0);
        byte >>= 1;
    }
}

uint8_t onewire_read(void) {
    uint8_t byte = 0;
    for (uint8_t bit = 0; bit < 8U; bit++) {
        byte >>= 1;
        if (read_bit()) byte |= 0x80U;
    }
    return byte;
}

void onewire_match(const uint8_t rom[ROM_BYTES]) {
    onewire_write(ONEWIRE_MATCH_ROM);
    for (uint8_t i = 0; i < ROM_BYTES; i++) onewire_write(rom[i]);
}

uint8_t onewire_crc8(const uint8_t *bytes, uint8_t count) {
    uint8_t crc = 0;
    while (count-- > 0U) crc = _crc_ibutton_update(crc, *bytes++);
    return crc;
}

void onewire_search_begin(struct onewire_search *search) {
    for (uint8_t i = 0; i < ROM_BYTES; i++) search->rom[i] = 0;
    search->last_discrepancy = 0;
    search->finished = false;
}

/* Walks the tree of ROM ids: at each bit all probes still selected send it and its complement (wired AND),
 * and the bit written back deselects those that differ. At the last fork taken with 0, take 1 this time. */
enum onewire_found onewire_search_next(struct onewire_search *search) {
    uint8_t last_zero = 0;
    bool zeros_only = true;
    if (search->finished) return ONEWIRE_END;
    search->finished = true;
    if (!onewire_reset()) return ONEWIRE_END;
    onewire_write(ONEWIRE_SEARCH_ROM);
    for (uint8_t number = 1; number <= 64U; number++) {
        uint8_t *byte = &search->rom[(number - 1U) >> 3];
        uint8_t mask = (uint8_t)(1U << ((number - 1U) & 7U));
        bool bit = read_bit();
        bool complement = read_bit();
        if (bit && complement) return ONEWIRE_DAMAGED; /* nobody is left */
        if (!bit && !complement) {
            if (number < search->last_discrepancy) bit = (*byte & mask) != 0;
            else bit = number == search->last_discrepancy;
            if (!bit) last_zero = number;
        }
        if (bit) {
            *byte |= mask;
            zeros_only = false;
        } else {
            *byte &= (uint8_t)~mask;
        }
        write_bit(bit);
    }
    if (zeros_only || onewire_crc8(search->rom, ROM_BYTES) != 0U) return ONEWIRE_DAMAGED;
    search->last_discrepancy = last_zero;
    search->finished = last_zero == 0U;
    return ONEWIRE_FOUND;
}
