/* The thermometers on the bus: DS18B20 (family 28h), DS1822 (22h), DS18S20 (10h). */
#ifndef THERMOMETER_H
#define THERMOMETER_H

#include "onewire.h"

#include <stdbool.h>
#include <stdint.h>

/* A 12-bit conversion takes at most 750 ms. */
#define THERMOMETER_CONVERSION_MS 800U

/* Chooses the mark that every thermometer is given in TH and TL. It is kept nowhere but in the scratchpad: one
 * that has restarted has lost it, whatever value it wakes up with. */
void thermometer_choose_mark(uint8_t seed);

struct thermometer_reading {
    char status;       /* STATUS_... of frames.h */
    bool has_raw;
    int16_t sixteenths; /* of a degree Celsius; only if has_raw */
};

/* True for a ROM id whose family this firmware can read. */
bool thermometer_is_one(const uint8_t rom[ROM_BYTES]);

/* Starts a conversion in every thermometer at once. That nobody answered shows when they are read. */
void thermometer_convert_all(void);

/* Reads and judges the nine bytes of one thermometer. */
struct thermometer_reading thermometer_read(const uint8_t rom[ROM_BYTES]);

/* Sets 12 bit and the mark, and reads back. False when no thermometer is there: it was read whole never, and answered
 * less often than it was asked. What does not take, and a CRC that is always wrong, show in its readings. */
bool thermometer_configure(const uint8_t rom[ROM_BYTES]);

#endif
