/* The mark button: edges are stamped by interrupt, so that a short press counts whatever the loop is doing. */
#ifndef BUTTON_H
#define BUTTON_H

#include <stdbool.h>
#include <stdint.h>

enum button_event { BUTTON_NONE, BUTTON_SHORT, BUTTON_LONG };

void button_init(void);

/* What was done since the last call. A short press tells when it began; a long one is told while it is still held. */
enum button_event button_take(uint32_t *pressed_ms);

#endif
