#include "ds18b20.h"

#include "agenda.h"
#include "onewire.h"

#include <string.h>

enum rom_command { SEARCH_ROM = 0xF0, READ_ROM = 0x33, MATCH_ROM = 0x55, SKIP_ROM = 0xCC };
enum function { CONVERT_T = 0x44, WRITE_SCRATCHPAD = 0x4E, READ_SCRATCHPAD = 0xBE };

enum phase {
    IDLE,      /* deselected until the next reset */
    PRESENCE,  /* reset was seen: the pulse is due or under way */
    ROM_COMMAND,
    MATCHING,
    SEARCH_BIT,
    SEARCH_COMPLEMENT,
    SEARCH_DIRECTION,
    FUNCTION,
    WRITING,
    READING,
    CONVERTING, /* read slots show 0 until it is done */
};

struct ds18b20 {
    uint8_t rom[8];
    uint8_t th, tl, configuration;
    int16_t ambient;     /* what it would measure */
    int16_t converting;  /* what the conversion under way will give */
    int16_t temperature; /* what the scratchpad holds */
    bool has_converted;
    bool is_converting;
    uint64_t converted_at;

    bool is_off;
    bool is_damaged;
    bool pulls;

    enum phase phase;
    unsigned bit; /* of the byte, ROM id or scratchpad that is on its way */
    uint8_t shift;
    uint8_t sending[9];
    unsigned sending_bits;
    uint64_t fell_at;
    struct event event; /* what it does next in the slot */

    /* Its place in the windows, microseconds */
    unsigned presence_delay_us, presence_us, sample_us, hold_us;
    unsigned conversion_ms;
};

static struct ds18b20 all[DS18B20_MAX];
static unsigned count;

int16_t ds18b20_error_sixteenths;
bool ds18b20_crc_is_wrong;

static bool is_ds18s20(const struct ds18b20 *d) {
    return d->rom[0] == 0x10;
}

/* x^8 + x^5 + x^4 + 1, least significant bit first */
static uint8_t crc8(const uint8_t *bytes, unsigned length) {
    uint8_t crc = 0;
    for (unsigned i = 0; i < length; i++) {
        for (unsigned bit = 0; bit < 8U; bit++) {
            bool feedback = ((crc ^ (bytes[i] >> bit)) & 1U) != 0U;
            crc >>= 1;
            if (feedback) crc ^= 0x8CU;
        }
    }
    return crc;
}

/* Power-up: +85 °C, TH, TL and configuration from EEPROM as delivered. */
static void power_up(struct ds18b20 *d) {
    d->th = 0x4B;
    d->tl = 0x46;
    d->configuration = 0x7F;
    d->temperature = 85 * 16;
    d->has_converted = false;
    d->is_converting = false;
    d->phase = IDLE;
}

/* ---- the line ---- */

static void pull(struct ds18b20 *d, bool on) {
    if (d->pulls == on) return;
    d->pulls = on;
    if (on) onewire_pull();
    else onewire_let_go();
}

static void expect(struct ds18b20 *d, enum phase phase) {
    d->phase = phase;
    d->bit = 0;
    d->shift = 0;
}

/* ---- memory ---- */

static void finish_conversion(struct ds18b20 *d) {
    if (!d->is_converting || agenda_now() < d->converted_at) return;
    d->is_converting = false;
    d->has_converted = true;
    d->temperature = d->converting;
}

/* T = TEMP_READ - 0.25 + (COUNT_PER_C - COUNT_REMAIN) / COUNT_PER_C, TEMP_READ being whole degrees. */
static void fill_ds18s20(const struct ds18b20 *d, uint8_t pad[9]) {
    int whole = (d->temperature + 4 + 16 * 1024) / 16 - 1024; /* rounded down */
    int remain = 16 * whole + 12 - d->temperature;
    int halves = 2 * whole + (remain <= 4 ? 1 : 0);
    pad[0] = (uint8_t)halves;
    pad[1] = halves < 0 ? 0xFF : 0x00;
    pad[4] = 0xFF;
    pad[6] = d->has_converted ? (uint8_t)remain : 0x0C;
}

static void fill_ds18b20(const struct ds18b20 *d, uint8_t pad[9]) {
    unsigned undefined_bits = 3U - ((d->configuration >> 5) & 3U);
    uint16_t temperature = (uint16_t)d->temperature & (uint16_t)(0xFFFFU << undefined_bits);
    pad[0] = (uint8_t)temperature;
    pad[1] = (uint8_t)(temperature >> 8);
    pad[4] = d->configuration;
    /* Reserved; the parts hold this here. */
    pad[6] = d->has_converted ? (uint8_t)(0x10U - (temperature & 0x0FU)) : 0x0C;
}

static void load_scratchpad(struct ds18b20 *d) {
    uint8_t *pad = d->sending;
    finish_conversion(d);
    pad[2] = d->th;
    pad[3] = d->tl;
    pad[5] = 0xFF;
    pad[7] = 0x10;
    if (is_ds18s20(d)) fill_ds18s20(d, pad);
    else fill_ds18b20(d, pad);
    pad[8] = crc8(pad, 8);
    if (d->is_damaged || (ds18b20_crc_is_wrong && d == all)) pad[8] ^= 0x20U;
    d->sending_bits = 72;
}

/* ---- commands ---- */

static void take_rom_command(struct ds18b20 *d, uint8_t command) {
    if (command == SKIP_ROM) expect(d, FUNCTION);
    else if (command == MATCH_ROM) expect(d, MATCHING);
    else if (command == SEARCH_ROM) expect(d, SEARCH_BIT);
    else if (command == READ_ROM) {
        memcpy(d->sending, d->rom, sizeof d->rom);
        d->sending_bits = 64;
        expect(d, READING);
    } else expect(d, IDLE);
}

static void take_function(struct ds18b20 *d, uint8_t command) {
    expect(d, IDLE);
    if (command == WRITE_SCRATCHPAD) expect(d, WRITING);
    else if (command == READ_SCRATCHPAD) {
        load_scratchpad(d);
        expect(d, READING);
    } else if (command == CONVERT_T) {
        finish_conversion(d);
        d->converting = d->ambient + ds18b20_error_sixteenths;
        d->converted_at = agenda_now() + MILLISECONDS(d->conversion_ms);
        d->is_converting = true;
        expect(d, CONVERTING);
    }
}

/* TH, TL and, in a DS18B20, the configuration: of it only R1 and R0 can be written. */
static void take_scratchpad_bit(struct ds18b20 *d) {
    if (d->bit == 8U) d->th = d->shift;
    else if (d->bit == 16U) d->tl = d->shift;
    else if (d->bit == 24U) d->configuration = (uint8_t)((d->shift & 0x60U) | 0x1FU);
    if (d->bit == (is_ds18s20(d) ? 16U : 24U)) expect(d, IDLE);
}

static bool rom_bit(const struct ds18b20 *d) {
    return (d->rom[d->bit / 8U] >> (d->bit % 8U) & 1U) != 0U;
}

static void compare(struct ds18b20 *d, bool one, enum phase next) {
    if (one != rom_bit(d)) expect(d, IDLE);
    else if (++d->bit == 64U) expect(d, FUNCTION);
    else d->phase = next;
}

static void take_bit(struct ds18b20 *d, bool one) {
    if (d->phase == MATCHING) compare(d, one, MATCHING);
    else if (d->phase == SEARCH_DIRECTION) compare(d, one, SEARCH_BIT);
    else {
        d->shift = (uint8_t)(d->shift >> 1 | (one ? 0x80U : 0U));
        d->bit++;
        if (d->phase == WRITING) take_scratchpad_bit(d);
        else if (d->bit == 8U && d->phase == ROM_COMMAND) take_rom_command(d, d->shift);
        else if (d->bit == 8U && d->phase == FUNCTION) take_function(d, d->shift);
    }
}

/* The bit for the slot that begins. False when it listens. */
static bool give_bit(struct ds18b20 *d, bool *one) {
    switch (d->phase) {
        case SEARCH_BIT:
            *one = rom_bit(d);
            d->phase = SEARCH_COMPLEMENT;
            return true;
        case SEARCH_COMPLEMENT:
            *one = !rom_bit(d);
            d->phase = SEARCH_DIRECTION;
            return true;
        case READING:
            *one = (d->sending[d->bit / 8U] >> (d->bit % 8U) & 1U) != 0U;
            if (++d->bit == d->sending_bits) d->phase = IDLE;
            return true;
        case CONVERTING:
            finish_conversion(d);
            *one = !d->is_converting;
            return true;
        default:
            return false;
    }
}

/* ---- signaling ---- */

static void happen(void *device) {
    struct ds18b20 *d = device;
    if (d->phase == PRESENCE && !d->pulls) {
        pull(d, true);
        agenda_set(&d->event, agenda_now() + MICROSECONDS(d->presence_us));
    } else if (d->pulls) {
        pull(d, false);
        if (d->phase == PRESENCE) expect(d, ROM_COMMAND);
    } else {
        take_bit(d, onewire_is_high());
    }
}

static void slot(struct ds18b20 *d) {
    bool one;
    if (!give_bit(d, &one)) {
        agenda_set(&d->event, agenda_now() + MICROSECONDS(d->sample_us));
    } else if (!one) {
        pull(d, true);
        agenda_set(&d->event, agenda_now() + MICROSECONDS(d->hold_us));
    }
}

static void edge(void *device, bool is_high) {
    struct ds18b20 *d = device;
    uint64_t now = agenda_now();
    if (d->is_off) return;
    if (!is_high) {
        d->fell_at = now;
        if (d->phase != IDLE && d->phase != PRESENCE) slot(d);
    } else if (now - d->fell_at >= MICROSECONDS(480)) {
        expect(d, PRESENCE);
        agenda_set(&d->event, now + MICROSECONDS(d->presence_delay_us));
    }
}

/* ---- for the bench ---- */

/* From `first` for thermometer 0 to `last` for the last one that the line may have. */
static unsigned spread(unsigned number, unsigned first, unsigned last) {
    return first + (last - first) * number / (DS18B20_MAX - 1U);
}

unsigned ds18b20_attach(const uint8_t rom[8]) {
    unsigned number = count++;
    struct ds18b20 *d = &all[number];
    memcpy(d->rom, rom, sizeof d->rom);
    d->ambient = 20 * 16;
    d->event.happen = happen;
    d->event.owner = d;
    d->presence_delay_us = spread(number, 15, 60);
    d->presence_us = spread(number, 60, 240);
    d->sample_us = spread(number, 15, 60);
    d->hold_us = spread(number, 15, 60);
    d->conversion_ms = spread(number, 400, 750);
    power_up(d);
    onewire_listen((struct onewire_listener){edge, d});
    return number;
}

void ds18b20_warm(unsigned number, int16_t sixteenths) {
    all[number].ambient = sixteenths;
}

void ds18b20_take_off(unsigned number) {
    struct ds18b20 *d = &all[number];
    d->is_off = true;
    agenda_cancel(&d->event);
    pull(d, false);
}

void ds18b20_put_back(unsigned number) {
    power_up(&all[number]);
    all[number].is_off = false;
}

void ds18b20_damage(unsigned number, bool is_damaged) {
    all[number].is_damaged = is_damaged;
}
