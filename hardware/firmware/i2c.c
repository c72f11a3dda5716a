#include "i2c.h"

#include "broken.h"
#include "pins.h"

#include <util/delay.h>

/* Fast-mode times of memory and clock chip: clock low at least 1.3 us, high and set-up at least 0.6 us; twice that. */
#define LOW_US 2.6
#define HIGH_US 1.3
/* Neither chip holds the clock; a line that rises slowly may take a little. */
#define RISE_TRIES 50U
#define RECOVERY_CLOCKS 9U

static bool is_busy; /* between START and STOP */

static inline __attribute__((always_inline)) void sda_low(void) {
    I2C_DDR |= _BV(I2C_SDA_BIT);
}

static inline __attribute__((always_inline)) void sda_release(void) {
    I2C_DDR &= (uint8_t)~_BV(I2C_SDA_BIT);
}

static inline __attribute__((always_inline)) bool sda_is_high(void) {
    return (I2C_PIN & _BV(I2C_SDA_BIT)) != 0;
}

static inline __attribute__((always_inline)) void scl_low(void) {
    I2C_DDR |= _BV(I2C_SCL_BIT);
}

static bool scl_rise(void) {
    I2C_DDR &= (uint8_t)~_BV(I2C_SCL_BIT);
    for (uint8_t i = 0; BREAK_I2C_WAIT || i < RISE_TRIES; i++) {
        if (I2C_PIN & _BV(I2C_SCL_BIT)) return true;
    }
    return false;
}

void i2c_init(void) {
    I2C_PORT &= (uint8_t) ~(_BV(I2C_SDA_BIT) | _BV(I2C_SCL_BIT));
    sda_release();
    (void)scl_rise();
}

/* A chip that was reading when the board was reset holds the data line until it has been clocked to its end. */
static bool recover(void) {
    sda_release();
    for (uint8_t i = 0; !BREAK_I2C_RECOVERY && i < RECOVERY_CLOCKS && !sda_is_high(); i++) {
        scl_low();
        _delay_us(LOW_US);
        if (!scl_rise()) return false;
        _delay_us(HIGH_US);
    }
    i2c_stop();
    return sda_is_high();
}

bool i2c_start(uint8_t address) {
    sda_release();
    _delay_us(LOW_US);
    if (!scl_rise()) return false;
    if (!is_busy && !sda_is_high() && !recover()) return false;
    _delay_us(HIGH_US);
    if (!sda_is_high()) return false;
    is_busy = true;
    sda_low();
    _delay_us(HIGH_US);
    scl_low();
    return i2c_write(address);
}

/* One clock with the data line as it stands. `*level` is the line at its end. */
static bool clock_bit(bool *level) {
    _delay_us(LOW_US);
    if (!scl_rise()) return false;
    _delay_us(HIGH_US);
    *level = sda_is_high();
    scl_low();
    return true;
}

bool i2c_write(uint8_t byte) {
    bool level;
    for (uint8_t mask = 0x80U; mask != 0U; mask >>= 1) {
        bool one = (byte & mask) != 0U;
        if (one) sda_release();
        else sda_low();
        if (!clock_bit(&level) || level != one) return false;
    }
    sda_release();
    return clock_bit(&level) && !level;
}

bool i2c_read(uint8_t *into, bool is_last) {
    uint8_t byte = 0;
    bool level;
    sda_release();
    for (uint8_t bit = 0; bit < 8U; bit++) {
        if (!clock_bit(&level)) return false;
        byte = (uint8_t)(byte << 1) | (level ? 1U : 0U);
    }
    if (!is_last) sda_low();
    if (!clock_bit(&level)) return false;
    sda_release();
    *into = byte;
    return true;
}

void i2c_stop(void) {
    scl_low();
    sda_low();
    _delay_us(LOW_US);
    (void)scl_rise();
    _delay_us(HIGH_US);
    sda_release();
    _delay_us(LOW_US);
    is_busy = false;
}
