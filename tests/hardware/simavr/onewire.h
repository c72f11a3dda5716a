/* The 1-Wire line: open drain, low while anybody pulls, high a rise time after the last one lets go. */
#ifndef ONEWIRE_H
#define ONEWIRE_H

#include <stdbool.h>
#include <stdint.h>

/* Somebody on the line: told of each edge. */
struct onewire_listener {
    void (*edge)(void *device, bool is_high);
    void *device;
};

/* The line tells its level to `level`, and from now on follows the master. */
void onewire_attach(void (*level)(bool is_high));
void onewire_listen(struct onewire_listener listener);

/* The master pulls or lets go. */
void onewire_master(bool pulls);

/* A device pulls, or one that pulled lets go. */
void onewire_pull(void);
void onewire_let_go(void);

bool onewire_is_high(void);

/* Low times, slots and recoveries of the master that the datasheet does not allow. */
unsigned onewire_violations(void);

#endif
