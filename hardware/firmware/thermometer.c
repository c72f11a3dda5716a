#include "thermometer.h"

#include "frames.h"

enum family { DS18S20 = 0x10, DS1822 = 0x22, DS18B20 = 0x28 };

enum function { CONVERT_T = 0x44, WRITE_SCRATCHPAD = 0x4E, READ_SCRATCHPAD = 0xBE };

/* Scratchpad */
enum {
    TEMPERATURE_LSB,
    TEMPERATURE_MSB,
    TH,
    TL,
    CONFIGURATION,
    RESERVED_5,
    COUNT_REMAIN, /* DS18B20: 10h - low nibble of the temperature, 0Ch at power-up */
    COUNT_PER_C,
    SCRATCHPAD_CRC,
    SCRATCHPAD_BYTES,
};

#define CONFIGURATION_12_BIT 0x7FU
#define REMAIN_AT_POWER_UP 0x0CU
#define TRIES 3U

/* Raw values that a thermometer holds while it has not converted. */
#define SIXTEENTHS_85 0x0550
#define SIXTEENTHS_127_9375 0x07FF

static uint8_t mark_th;
static uint8_t mark_tl;

void thermometer_choose_mark(uint8_t seed) {
    mark_th = seed;
    mark_tl = seed ^ 0xA5U;
}

bool thermometer_is_one(const uint8_t rom[ROM_BYTES]) {
    return rom[0] == DS18B20 || rom[0] == DS1822 || rom[0] == DS18S20;
}

void thermometer_convert_all(void) {
    if (!onewire_reset()) return;
    onewire_write(ONEWIRE_SKIP_ROM);
    onewire_write(CONVERT_T);
}

static bool all_are(const uint8_t pad[SCRATCHPAD_BYTES], uint8_t value) {
    for (uint8_t i = 0; i < SCRATCHPAD_BYTES; i++) {
        if (pad[i] != value) return false;
    }
    return true;
}

/* STATUS_OK when the nine bytes arrived whole. */
static char read_scratchpad(const uint8_t rom[ROM_BYTES], uint8_t pad[SCRATCHPAD_BYTES]) {
    if (!onewire_reset()) return STATUS_MISSING;
    onewire_match(rom);
    onewire_write(READ_SCRATCHPAD);
    for (uint8_t i = 0; i < SCRATCHPAD_BYTES; i++) pad[i] = onewire_read();
    if (all_are(pad, 0xFFU)) return STATUS_MISSING;
    if (all_are(pad, 0x00U)) return STATUS_ALL_ZERO; /* its CRC would be right */
    if (onewire_crc8(pad, SCRATCHPAD_BYTES) != 0U) return STATUS_BAD_CRC;
    return STATUS_OK;
}

/* Family 10h counts half degrees; with its count registers: T = TEMP - 0.25 + (PER_C - REMAIN) / PER_C,
 * TEMP without its half degree. */
static int16_t sixteenths_of_ds18s20(const uint8_t pad[SCRATCHPAD_BYTES]) {
    int16_t halves = (int16_t)((uint16_t)pad[TEMPERATURE_MSB] << 8 | pad[TEMPERATURE_LSB]);
    if (pad[COUNT_PER_C] != 0x10U || pad[COUNT_REMAIN] > 0x10U) return (int16_t)(halves * 8);
    return (int16_t)((halves & ~1) * 8 - 4 + (0x10 - pad[COUNT_REMAIN]));
}

static int16_t sixteenths(uint8_t family, const uint8_t pad[SCRATCHPAD_BYTES]) {
    if (family == DS18S20) return sixteenths_of_ds18s20(pad);
    return (int16_t)((uint16_t)pad[TEMPERATURE_MSB] << 8 | pad[TEMPERATURE_LSB]);
}

static bool is_marked(const uint8_t pad[SCRATCHPAD_BYTES]) {
    return pad[TH] == mark_th && pad[TL] == mark_tl;
}

static bool is_not_converted(int16_t value, const uint8_t pad[SCRATCHPAD_BYTES]) {
    return pad[COUNT_REMAIN] == REMAIN_AT_POWER_UP && (value == SIXTEENTHS_85 || value == SIXTEENTHS_127_9375);
}

struct thermometer_reading thermometer_read(const uint8_t rom[ROM_BYTES]) {
    uint8_t pad[SCRATCHPAD_BYTES];
    struct thermometer_reading reading = {.status = read_scratchpad(rom, pad), .has_raw = false, .sixteenths = 0};
    if (reading.status != STATUS_OK) return reading;
    reading.has_raw = true;
    reading.sixteenths = sixteenths(rom[0], pad);
    if (is_not_converted(reading.sixteenths, pad)) reading.status = STATUS_NOT_CONVERTED;
    else if (!is_marked(pad)) reading.status = STATUS_RESTARTED;
    else if (rom[0] != DS18S20 && pad[CONFIGURATION] != CONFIGURATION_12_BIT)
        reading.status = STATUS_BAD_CONFIGURATION;
    return reading;
}

static bool write_scratchpad(const uint8_t rom[ROM_BYTES]) {
    if (!onewire_reset()) return false;
    onewire_match(rom);
    onewire_write(WRITE_SCRATCHPAD);
    onewire_write(mark_th);
    onewire_write(mark_tl);
    if (rom[0] != DS18S20) onewire_write(CONFIGURATION_12_BIT);
    return true;
}

bool thermometer_configure(const uint8_t rom[ROM_BYTES]) {
    uint8_t back[SCRATCHPAD_BYTES];
    uint8_t answers = 0;
    for (uint8_t attempt = 0; attempt < TRIES; attempt++) {
        char status = write_scratchpad(rom) ? read_scratchpad(rom, back) : STATUS_MISSING;
        if (status != STATUS_MISSING) answers++;
        if (status != STATUS_OK) continue;
        answers = TRIES;
        if (is_marked(back) && (rom[0] == DS18S20 || back[CONFIGURATION] == CONFIGURATION_12_BIT)) break;
    }
    return answers == TRIES;
}
