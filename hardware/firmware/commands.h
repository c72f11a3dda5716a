/* What the host says (docs/wire-protocol.md): each line is checked whole before anything is done, and answered. */
#ifndef COMMANDS_H
#define COMMANDS_H

#include <stdbool.h>

/* Reads what has arrived and obeys at most one line. True when it did. */
bool commands_step(void);

/* True for HOST_SILENCE_SECONDS after each good command. */
bool commands_host_listens(void);

#endif
