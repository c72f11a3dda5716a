/* Why and how often the board booted, and which board it is. */
#ifndef BOOT_H
#define BOOT_H

#include <stdbool.h>
#include <stdint.h>

/* EEPROM map (1024 bytes). 16-31 and 32-47 hold the boot record, written in turn so that a power cut spoils at most
 * the newer; then the settings (periods, how often the clock was set twice, 16 slots of 17 bytes) and 48 marks of 13
 * bytes. Byte 0 is left alone: a write that a brown-out breaks off hits it. */
#define BOOT_RECORD_ADDRESS_A 16U
#define BOOT_RECORD_ADDRESS_B 32U
#define SETTINGS_PERIODS_ADDRESS 48U
#define CLOCK_SETS_ADDRESS 52U
#define SETTINGS_SLOTS_ADDRESS 64U
#define MARKS_ADDRESS 352U

/* Reads the record and counts this boot. Needs no interrupts. */
void boot_init(void);

/* False at the very first boot (and if both records are lost): then call boot_identify(). */
bool boot_is_identified(void);

/* Makes the board's id from the probes found and from what the SRAM held at power-up. */
void boot_identify(void);

uint16_t boot_count(void);
uint32_t boot_board_id(void);

/* RESET_CAUSE_... of frames.h */
char boot_reset_cause(void);

#endif
