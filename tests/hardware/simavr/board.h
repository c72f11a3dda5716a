/* The board: simavr's ATmega328P at 16 MHz with the image in its flash, wired as hardware/firmware/chip_atmega328p.h
 * says. 1-Wire on PD2, I2C on PC4 and PC5, button on PD4, LED on PD5,
 * piezo on PB3, USART0. */
#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define BOARD_SRAM_BYTES 2048U

/* What the board does, when it does it. */
struct board_listener {
    void (*sent)(uint8_t byte); /* given to USART0's shift register */
    void (*led)(bool is_on);
};

/* Powers it on with `sram` in its memory. Ends the program when the image cannot be read. */
void board_power_on(const char *image, const uint8_t sram[BOARD_SRAM_BYTES], struct board_listener listener);

void board_run(uint64_t until);

/* A byte from the host has arrived. */
void board_receive(uint8_t byte);

void board_press(bool is_pressed);

/* The program is led astray, to `rjmp .-2`, where only the watchdog finds it. */
void board_hang(void);

unsigned board_piezo_edges(void);

/* Resets at which a chip held the data line of I2C. */
unsigned board_resets_with_sda_held(void);

/* How often PORT was 1 on a line that is open drain. */
unsigned board_driven_high(void);

#endif
