/* The 1-Wire bus on ONEWIRE_BIT: reset, slots, bytes and the ROM search. Interrupts are off only while an
 * edge is timed, at most 70 us. */
#ifndef ONEWIRE_H
#define ONEWIRE_H

#include <stdbool.h>
#include <stdint.h>

#define ROM_BYTES 8U

enum onewire_command {
    ONEWIRE_SEARCH_ROM = 0xF0,
    ONEWIRE_MATCH_ROM = 0x55,
    ONEWIRE_SKIP_ROM = 0xCC,
};

void onewire_init(void);

/* Resets every probe. False when none answers, or when the line is held low. */
bool onewire_reset(void);

void onewire_write(uint8_t byte);
uint8_t onewire_read(void);

/* Addresses one probe. */
void onewire_match(const uint8_t rom[ROM_BYTES]);

/* The search: each call of onewire_search_next() finds one ROM. */
struct onewire_search {
    uint8_t rom[ROM_BYTES];
    uint8_t last_discrepancy; /* bit number, 1 to 64; 0 when none is left */
    bool finished;
};

enum onewire_found {
    ONEWIRE_FOUND,   /* `rom` is a ROM id whose CRC is right */
    ONEWIRE_DAMAGED, /* something answered, not understood: the search has ended */
    ONEWIRE_END,     /* nothing more */
};

void onewire_search_begin(struct onewire_search *search);
enum onewire_found onewire_search_next(struct onewire_search *search);

/* CRC-8 of `count` bytes; 0 over data followed by its CRC. */
uint8_t onewire_crc8(const uint8_t *bytes, uint8_t count);

#endif
