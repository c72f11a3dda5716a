/* The scan: every SCAN_PERIOD_MS all probes convert together, then are read one by one; between scans the
 * bus is searched for new probes. */
#ifndef SCANNER_H
#define SCANNER_H

#include <stdbool.h>

void scanner_init(void);

/* Does the next piece of work if one is due (at most 150 ms). True while another is due at once. */
bool scanner_step(void);

#endif
