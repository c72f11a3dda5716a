#include "alarms.h"

#include "calendar.h"
#include "clock.h"
#include "frames.h"
#include "log.h"
#include "probes.h"
#include "report.h"
#include "settings.h"
#include "signals.h"

#include <string.h>

/* Back inside by this much before an alarm ends: a quarter of a degree. */
#define HYSTERESIS_SIXTEENTHS 4
#define DUE_PERIOD_MS 5000UL

static uint16_t act; /* bit 0 is slot 1 */
static uint16_t due;
static bool is_muted;
static uint32_t due_at;

static const struct thermometer_reading *find(const uint8_t rom[ROM_BYTES], const struct thermometer_reading *readings) {
    for (uint8_t i = 0; i < probes_count(); i++) {
        if (memcmp(probes_rom(i), rom, ROM_BYTES) == 0) return &readings[i];
    }
    return 0;
}

static bool is_past(const struct settings_slot *slot, int16_t sixteenths, bool was_past) {
    int16_t margin = was_past ? HYSTERESIS_SIXTEENTHS : 0;
    return (slot->cold != LIMIT_NONE && sixteenths - margin < (int16_t)slot->cold) ||
           (slot->hot != LIMIT_NONE && sixteenths + margin > (int16_t)slot->hot);
}

static void show(void) {
    enum signals_sound sound = act != 0U ? SIGNALS_ACT : due != 0U ? SIGNALS_DUE : SIGNALS_SILENT;
    signals_show(is_muted ? SIGNALS_SILENT : sound, act != 0U ? act : due, log_needs_host());
}

static void change(uint16_t new_act, uint16_t new_due) {
    bool has_new = (new_act & (uint16_t)~act) != 0U || (new_due & (uint16_t)~due) != 0U;
    bool is_same = new_act == act && new_due == due;
    act = new_act;
    due = new_due;
    if (has_new || (act == 0U && due == 0U)) is_muted = false;
    show();
    if (!is_same) report_alarms();
}

/* A reading that is no observation leaves the alarm as it was. */
void alarms_scan(const struct thermometer_reading *readings) {
    uint16_t now = act;
    for (uint8_t i = 0; i < SLOTS_MAX; i++) {
        struct settings_slot slot;
        uint16_t bit = (uint16_t)(1U << i);
        if (!settings_slot(i, &slot)) continue;
        const struct thermometer_reading *reading = find(slot.rom, readings);
        if (reading == 0 || reading->status != STATUS_OK) continue;
        if (is_past(&slot, reading->sixteenths, (act & bit) != 0U)) now |= bit;
        else now &= (uint16_t)~bit;
    }
    change(now, due);
}

void alarms_step(void) {
    uint32_t now = clock_ms();
    uint32_t utc = calendar_utc(now);
    uint16_t found = 0;
    if (!clock_due(now, due_at)) return;
    due_at = now + DUE_PERIOD_MS;
    for (uint8_t i = 0; i < SLOTS_MAX && utc != 0UL; i++) {
        struct settings_slot slot;
        if (settings_slot(i, &slot) && slot.due != 0UL && utc >= slot.due) found |= (uint16_t)(1U << i);
    }
    change(act, found);
}

void alarms_mute(void) {
    if (act == 0U && due == 0U) return;
    is_muted = true;
    show();
    report_alarms();
}

void alarms_forget(uint8_t slot) {
    change(act & (uint16_t) ~(uint16_t)(1U << slot), due & (uint16_t) ~(uint16_t)(1U << slot));
}

uint16_t alarms_act(void) {
    return act;
}

uint16_t alarms_due(void) {
    return due;
}

bool alarms_are_muted(void) {
    return is_muted;
}
