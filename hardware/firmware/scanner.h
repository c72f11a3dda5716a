/* The scan: every period (settings) all probes convert together, then are read one by one; between scans the
 * bus is searched for new probes. */
#ifndef SCANNER_H
#define SCANNER_H

#include <stdbool.h>
#include <stdint.h>

void scanner_init(void);

/* Does the next piece of work if one is due (at most 150 ms). True while another is due at once. */
bool scanner_step(void);

/* Seconds from scan to scan at present. */
uint8_t scanner_period(void);

/* Searches the bus at the next opportunity, and tells the table when it is done. */
void scanner_search_now(void);

#endif
