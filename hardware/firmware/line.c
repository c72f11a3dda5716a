#include "line.h"

#include "boot.h"
#include "frames.h"
#include "uart.h"

#include <util/crc16.h>

/* "*cccc" CR LF */
#define TAIL_BYTES 7U

static char line[LINE_BYTES_MAX];
static uint8_t length;
static uint16_t crc;
/* For the test bench: a sequence that is near its wrap. */
#ifndef START_SEQUENCE
#define START_SEQUENCE 0
#endif

static uint16_t sequence = START_SEQUENCE;

static void append(char value) {
    if (length < LINE_BYTES_MAX) line[length++] = value;
}

/* A line that would outgrow its limit loses its end, and its CRC then shows it: never a wrong field. */
void line_char(char value) {
    crc = _crc_xmodem_update(crc, (uint8_t)value);
    if (length < LINE_BYTES_MAX - TAIL_BYTES) append(value);
}

void line_hex1(uint8_t value) {
    uint8_t nibble = value & 0x0FU;
    line_char((char)(nibble < 10U ? '0' + nibble : 'A' - 10 + nibble));
}

void line_hex2(uint8_t value) {
    line_hex1(value >> 4);
    line_hex1(value);
}

void line_hex4(uint16_t value) {
    line_hex2((uint8_t)(value >> 8));
    line_hex2((uint8_t)value);
}

void line_comma(void) {
    line_char(',');
}

void line_field2(uint8_t value) {
    line_comma();
    line_hex2(value);
}

void line_field4(uint16_t value) {
    line_comma();
    line_hex4(value);
}

void line_field6(uint32_t value) {
    line_field2((uint8_t)(value >> 16));
    line_hex4((uint16_t)value);
}

void line_field8(uint32_t value) {
    line_field4((uint16_t)(value >> 16));
    line_hex4((uint16_t)value);
}

void line_field_char(char value) {
    line_comma();
    line_char(value);
}

void line_field_text(const char *text) {
    line_comma();
    while (*text != '\0') line_char(*text++);
}

void line_begin(char kind, uint32_t at_ms) {
    length = 0;
    append('$');
    crc = 0xFFFFU;
    line_char(kind);
    line_field4(boot_count());
    line_field4(sequence++);
    line_field8(at_ms);
}

void line_end(void) {
    uint16_t sum = crc; /* the CRC covers what stands between '$' and '*' */
    uint8_t body = length;
    for (uint8_t i = 0; i < body; i++) uart_put((uint8_t)line[i]);
    length = 0;
    line_char('*');
    line_hex4(sum);
    append('\r');
    append('\n');
    for (uint8_t i = 0; i < length; i++) uart_put((uint8_t)line[i]);
}
