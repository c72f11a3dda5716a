/* The I2C lines and how a chip hears them: both lines open drain; START and STOP are edges of the data line while the
 * clock is high; bits are taken when the clock rises and given when it falls. No chip holds the clock. */
#ifndef I2C_H
#define I2C_H

#include <stdbool.h>
#include <stdint.h>

/* A chip, byte by byte. */
struct i2c_chip {
    uint8_t address; /* seven bits */
    /* Addressed after a START: does it acknowledge? */
    bool (*addressed)(bool is_read);
    /* A byte from the master: does it acknowledge? */
    bool (*written)(uint8_t byte);
    uint8_t (*read)(void);
    /* STOP or, before another address, a repeated START. */
    void (*ended)(bool is_stop);
};

/* The lines tell their levels to `levels`. */
void i2c_attach(void (*levels)(bool sda_is_high, bool scl_is_high));
void i2c_add(const struct i2c_chip *chip);

void i2c_master(bool pulls_sda, bool pulls_scl);

bool i2c_sda_is_high(void);
bool i2c_scl_is_high(void);

/* A chip that is being read sends a 0 at this moment. */
bool i2c_chip_sends_zero(void);

/* Clocks shorter than fast mode (400 kHz) allows. */
unsigned i2c_violations(void);

#endif
