/* One line of the wire protocol: `$K,bbbb,qqqq,tttttttt,FIELDS*cccc` CR LF (docs/wire-protocol.md).
 * The fields are written between line_begin() and line_end(); each write of a field puts its comma first. */
#ifndef LINE_H
#define LINE_H

#include <stdint.h>

/* Starts a line of the given kind (FRAME_...), stamped with the board time `at_ms`. */
void line_begin(char kind, uint32_t at_ms);

void line_field2(uint8_t value);
void line_field4(uint16_t value);
void line_field6(uint32_t value);
void line_field8(uint32_t value);
void line_field_char(char value);
void line_field_text(const char *text);

/* Parts of an entry, without a comma. */
void line_comma(void);
void line_char(char value);
void line_hex1(uint8_t value);
void line_hex2(uint8_t value);
void line_hex4(uint16_t value);

/* Appends the CRC, queues the line and counts it. */
void line_end(void);

#endif
