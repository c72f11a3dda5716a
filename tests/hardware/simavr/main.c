/* Runs an image on the board by a script from standard input, and prints what the board sends.
 *   probe ROM                 a thermometer: 16 hex digits in bus order; they are numbered from 0
 *   sram HEX                  what the SRAM holds at power-on, 2048 bytes; before the first moment
 * Then moments, in milliseconds since power-on and in order:
 *   MS warm N SIXTEENTHS      from now on thermometer N would measure this
 *   MS off N | MS back N      its lead comes off, and is put back
 *   MS damaged N | MS whole N the CRC it sends is wrong, and is right again
 *   MS say TEXT               the host sends TEXT CR LF
 *   MS press | MS release     the button
 *   MS hang                   the program is led astray
 *   MS hang-in-read           the same, once a chip on I2C is sending a 0: it holds the line over the reset
 *   MS end                    prints the sums and ends
 * Output, one line each: "MS TEXT" with the moment of its last byte; "# led MS 1" or 0 at each change; at the end
 * "# NAME VALUE", among them the pages of the serial memory that are not blank.
 * Options: --as-is leaves simavr as Debian gives it (mends.h); --wrong=crc, --wrong=sixteenth, --wrong=memory break one
 * rule each, and must be found out. */
#include "agenda.h"
#include "board.h"
#include "ds18b20.h"
#include "ds3231.h"
#include "i2c.h"
#include "memory24.h"
#include "mends.h"
#include "onewire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SCRIPT_LINE_MAX 5000U
#define PAGE_BYTES 128U
/* 38400 baud, ten bits a byte */
#define BYTE_CYCLES (CRYSTAL_HZ * 10U / 38400U)
#define TIMED_FROM 20U
#define TIMED_TO 80U

static char line[256];
static size_t length;
static uint64_t timed_from; /* when the 20th byte of the line was given to USART0 */
static uint64_t byte_cycles; /* from byte to byte in the newest long line */

static double ms_now(void) {
    return (double)agenda_now() * 1000.0 / (double)CRYSTAL_HZ;
}

static void sent(uint8_t byte) {
    if (length == TIMED_FROM) timed_from = agenda_now();
    if (length == TIMED_TO) byte_cycles = (agenda_now() - timed_from) / (TIMED_TO - TIMED_FROM);
    if (length < sizeof line - 1U) line[length++] = (char)byte;
    if (byte != '\n') return;
    printf("%.3f %.*s", ms_now(), (int)length, line);
    length = 0;
}

static void led(bool is_on) {
    printf("# led %.3f %d\n", ms_now(), is_on);
}

static void say(const char *text) {
    uint64_t at = agenda_now();
    for (size_t i = 0; i < strlen(text) + 2U; i++) {
        at += BYTE_CYCLES;
        board_run(at);
        board_receive((uint8_t)(i < strlen(text) ? text[i] : i == strlen(text) ? '\r' : '\n'));
    }
}

static void hang_in_read(void) {
    while (!i2c_chip_sends_zero()) board_run(agenda_now() + MICROSECONDS(1));
    board_hang();
}

static void print_bytes(const uint8_t *bytes, unsigned count) {
    for (unsigned i = 0; i < count; i++) printf("%02X", bytes[i]);
    printf("\n");
}

static void print_memory(void) {
    for (const uint8_t *page = memory24_bytes(); page < memory24_bytes() + MEMORY24_BYTES; page += PAGE_BYTES) {
        bool is_blank = true;
        for (unsigned i = 0; i < PAGE_BYTES; i++) is_blank = is_blank && page[i] == 0xFFU;
        if (is_blank) continue;
        printf("# page ");
        print_bytes(page, PAGE_BYTES);
    }
}

static void finish(void) {
    printf("# onewire-violations %u\n", onewire_violations());
    printf("# i2c-violations %u\n", i2c_violations());
    printf("# driven-high %u\n", board_driven_high());
    printf("# byte-cycles %llu\n", (unsigned long long)byte_cycles);
    printf("# resets-with-sda-held %u\n", board_resets_with_sda_held());
    printf("# piezo-edges %u\n", board_piezo_edges());
    print_memory();
    exit(0);
}

static void complain(const char *what) {
    fprintf(stderr, "not a line of a script: %s\n", what);
    exit(1);
}

static void read_hex(const char *digits, uint8_t *into, unsigned count) {
    unsigned byte;
    for (unsigned i = 0; i < count; i++) {
        if (sscanf(digits + 2U * i, "%2x", &byte) != 1) complain(digits);
        into[i] = (uint8_t)byte;
    }
}

static void act(const char *what) {
    unsigned n;
    int value;
    if (strncmp(what, "say ", 4) == 0) say(what + 4);
    else if (sscanf(what, "warm %u %d", &n, &value) == 2) ds18b20_warm(n, (int16_t)value);
    else if (sscanf(what, "off %u", &n) == 1) ds18b20_take_off(n);
    else if (sscanf(what, "back %u", &n) == 1) ds18b20_put_back(n);
    else if (sscanf(what, "damaged %u", &n) == 1) ds18b20_damage(n, true);
    else if (sscanf(what, "whole %u", &n) == 1) ds18b20_damage(n, false);
    else if (strcmp(what, "press") == 0) board_press(true);
    else if (strcmp(what, "release") == 0) board_press(false);
    else if (strcmp(what, "hang") == 0) board_hang();
    else if (strcmp(what, "hang-in-read") == 0) hang_in_read();
    else if (strcmp(what, "end") == 0) finish();
    else complain(what);
}

static void take_option(const char *option) {
    if (strcmp(option, "--as-is") == 0) mends_are_wanted = false;
    else if (strcmp(option, "--wrong=crc") == 0) ds18b20_crc_is_wrong = true;
    else if (strcmp(option, "--wrong=sixteenth") == 0) ds18b20_error_sixteenths = 1;
    else if (strcmp(option, "--wrong=memory") == 0) memory24_is_wrong = true;
    else complain(option);
}

int main(int argc, char **argv) {
    static char text[SCRIPT_LINE_MAX];
    static uint8_t sram[BOARD_SRAM_BYTES];
    bool is_on = false;
    double ms;
    int rest;
    if (argc < 2) complain("(no image)");
    for (int i = 2; i < argc; i++) take_option(argv[i]);
    while (fgets(text, sizeof text, stdin) != NULL) {
        text[strcspn(text, "\n")] = '\0';
        if (strncmp(text, "sram ", 5) == 0) {
            read_hex(text + 5, sram, sizeof sram);
        } else if (strncmp(text, "probe ", 6) == 0) {
            uint8_t rom[8];
            read_hex(text + 6, rom, sizeof rom);
            (void)ds18b20_attach(rom);
        } else if (sscanf(text, "%lf %n", &ms, &rest) == 1) {
            if (!is_on) {
                memory24_attach();
                ds3231_attach();
                board_power_on(argv[1], sram, (struct board_listener){sent, led});
                is_on = true;
            }
            board_run((uint64_t)(ms * (double)(CRYSTAL_HZ / 1000U)));
            act(text + rest);
        } else {
            complain(text);
        }
    }
    complain("(no end)");
}
