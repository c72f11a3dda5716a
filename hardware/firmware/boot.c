#include "boot.h"

#include "frames.h"
#include "probes.h"

#include <avr/eeprom.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include <util/crc16.h>

struct boot_record {
    uint16_t count;
    uint32_t board_id;
    uint16_t crc; /* CRC-16/CCITT-FALSE of what precedes it */
} __attribute__((packed));

/* Lives outside .bss, which start-up code clears after .init3. */
static uint8_t mcusr_at_reset __attribute__((section(".noinit")));

static struct boot_record record;
static uint16_t write_address = BOOT_RECORD_ADDRESS_A;

/* The watchdog stays on after its own reset, at its shortest: turn it off before anything else. */
void boot_capture_mcusr(void) __attribute__((naked, used, section(".init3")));
void boot_capture_mcusr(void) {
    mcusr_at_reset = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

static uint16_t record_crc(const struct boot_record *of) {
    const uint8_t *bytes = (const uint8_t *)of;
    uint16_t crc = 0xFFFFU;
    for (uint8_t i = 0; i < sizeof *of - sizeof of->crc; i++) crc = _crc_xmodem_update(crc, bytes[i]);
    return crc;
}

static bool read_record(uint16_t address, struct boot_record *into) {
    eeprom_read_block(into, (const void *)address, sizeof *into);
    return into->crc == record_crc(into);
}

static void write_record(void) {
    record.crc = record_crc(&record);
    eeprom_update_block(&record, (void *)write_address, sizeof record);
}

void boot_init(void) {
    struct boot_record b;
    bool a_is_good = read_record(BOOT_RECORD_ADDRESS_A, &record);
    bool b_is_good = read_record(BOOT_RECORD_ADDRESS_B, &b);
    if (a_is_good) write_address = BOOT_RECORD_ADDRESS_B;
    if (b_is_good && (!a_is_good || (int16_t)(b.count - record.count) > 0)) {
        record = b;
        write_address = BOOT_RECORD_ADDRESS_A;
    }
    if (!a_is_good && !b_is_good) {
        record.count = 0;
        record.board_id = 0;
    }
    record.count++;
    if (boot_is_identified()) write_record();
}

bool boot_is_identified(void) {
    return record.board_id != 0UL;
}

/* CRC-32 (IEEE 802.3, reflected), one byte. */
static uint32_t crc32_update(uint32_t crc, uint8_t byte) {
    crc ^= byte;
    for (uint8_t bit = 0; bit < 8U; bit++) crc = (crc & 1UL) ? (crc >> 1) ^ 0xEDB88320UL : crc >> 1;
    return crc;
}

void boot_identify(void) {
    extern uint8_t _end; /* linker: the first byte behind all variables */
    uint32_t crc = 0xFFFFFFFFUL;
    for (uint8_t i = 0; i < probes_count(); i++) {
        for (uint8_t j = 0; j < ROM_BYTES; j++) crc = crc32_update(crc, probes_rom(i)[j]);
    }
    for (const uint8_t *byte = &_end; byte < (const uint8_t *)SP; byte++) crc = crc32_update(crc, *byte);
    record.board_id = crc == 0xFFFFFFFFUL ? 1UL : ~crc;
    write_record();
}

uint16_t boot_count(void) {
    return record.count;
}

uint32_t boot_board_id(void) {
    return record.board_id;
}

/* A power-on may set other flags too, so it is asked first. None at all: a bootloader cleared them. */
char boot_reset_cause(void) {
    if (mcusr_at_reset & _BV(PORF)) return RESET_CAUSE_POWER_ON;
    if (mcusr_at_reset & _BV(BORF)) return RESET_CAUSE_BROWN_OUT;
    if (mcusr_at_reset & _BV(WDRF)) return RESET_CAUSE_WATCHDOG;
    if (mcusr_at_reset & _BV(EXTRF)) return RESET_CAUSE_EXTERNAL;
    return RESET_CAUSE_UNKNOWN;
}
