#include "i2c.h"

#include "pins.h"

#include <util/delay.h>

/* Fast-mode times of memory and clock chip: clock low at least 1.3 us, high and set-up at least 0.6 us; twice that. */
#define LOW_US 2.6
#define HIGH_US 1.3
/* Neither chip holds the clock; a line that rises slowly may take a little. */
#define RISE_TRIES 50U
#define RECOVERY_CLOCKS 9U
#define REFUSED_MAX 4096U

static bool is_busy; /* between START and STOP */
/* Clocks that may free a data line that is held low. A chip that was being read may hold it, at a reset too, until it
 * has been clocked to its end. To a chip that was being written to each clock is a bit of data while something else
 * holds the line: it gets one, which ends its acknowledgement. */
static uint8_t clocks_allowed = RECOVERY_CLOCKS;
static uint16_t refused; /* starts, because the line was held */

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
    for (uint8_t i = 0; i < RISE_TRIES; i++) {
        if (I2C_PIN & _BV(I2C_SCL_BIT)) return true;
    }
    return false;
}

void i2c_init(void) {
    I2C_PORT &= (uint8_t) ~(_BV(I2C_SDA_BIT) | _BV(I2C_SCL_BIT));
    sda_release();
    (void)scl_rise();
}

static void stop(void) {
    scl_low();
    sda_low();
    _delay_us(LOW_US);
    (void)scl_rise();
    _delay_us(HIGH_US);
    sda_release();
    _delay_us(LOW_US);
}

static bool recover(void) {
    for (uint8_t i = 0; i < clocks_allowed && !sda_is_high(); i++) {
        scl_low();
        _delay_us(LOW_US);
        if (!scl_rise()) return false;
        _delay_us(HIGH_US);
    }
    if (clocks_allowed < RECOVERY_CLOCKS) clocks_allowed = 0;
    /* Something may hold it all the same: after some minutes it is clocked whatever it costs. */
    if (++refused % REFUSED_MAX == 0U) clocks_allowed = RECOVERY_CLOCKS;
    if (!sda_is_high()) return false;
    stop();
    return sda_is_high();
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

static bool send_bits(uint8_t byte) {
    bool level;
    for (uint8_t mask = 0x80U; mask != 0U; mask >>= 1) {
        bool one = (byte & mask) != 0U;
        if (one) sda_release();
        else sda_low();
        if (!clock_bit(&level) || level != one) return false;
    }
    return true;
}

static bool is_acknowledged(void) {
    bool level;
    sda_release();
    return clock_bit(&level) && !level;
}

bool i2c_start(uint8_t address) {
    sda_release();
    _delay_us(LOW_US);
    if (!scl_rise()) return false;
    if (!is_busy && !sda_is_high() && !recover()) return false;
    _delay_us(HIGH_US);
    if (!sda_is_high()) return false;
    is_busy = true;
    clocks_allowed = 1;
    sda_low();
    _delay_us(HIGH_US);
    scl_low();
    if (!send_bits(address)) return false;
    if (address & I2C_READ) clocks_allowed = RECOVERY_CLOCKS;
    return is_acknowledged();
}

bool i2c_write(uint8_t byte) {
    return send_bits(byte) && is_acknowledged();
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
    if (is_busy) stop();
    is_busy = false;
}
