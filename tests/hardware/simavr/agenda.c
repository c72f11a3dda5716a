#include "agenda.h"

#include <stddef.h>

static avr_t *chip;
static struct event *first; /* in order of time */
static bool is_running;

static avr_cycle_count_t run(avr_t *avr, avr_cycle_count_t when, void *unused) {
    (void)when;
    (void)unused;
    is_running = true;
    while (first != NULL && first->at <= avr->cycle) {
        struct event *event = first;
        first = event->next;
        event->is_set = false;
        event->happen(event->owner);
    }
    is_running = false;
    return first == NULL ? 0 : first->at;
}

void agenda_attach(avr_t *avr) {
    chip = avr;
}

void agenda_resume(void) {
    if (is_running || first == NULL) return;
    avr_cycle_timer_register(chip, first->at > chip->cycle ? first->at - chip->cycle : 0, run, NULL);
}

uint64_t agenda_now(void) {
    return chip->cycle;
}

void agenda_cancel(struct event *event) {
    struct event **link = &first;
    if (!event->is_set) return;
    while (*link != event) link = &(*link)->next;
    *link = event->next;
    event->is_set = false;
}

void agenda_set(struct event *event, uint64_t at) {
    struct event **link = &first;
    agenda_cancel(event);
    while (*link != NULL && (*link)->at <= at) link = &(*link)->next;
    event->at = at;
    event->is_set = true;
    event->next = *link;
    *link = event;
    if (first == event) agenda_resume();
}
