#include "calendar.h"

#include "clock.h"
#include "frames.h"
#include "report.h"
#include "rtc.h"
#include "settings.h"

/* A resonator that is 0.5 % off runs away by 0.3 s meanwhile. */
#define SYNC_PERIOD_MS 60000UL
#define FAILURES_MAX 3U

static enum rtc_state state;
static uint8_t failures;

/* `base_utc` began at `base_ms`; 0 when unknown. */
static uint32_t base_utc;
static uint32_t base_ms;

/* How far the chip may be from the crystal's time: so much, and a second more for each sync that failed. */
#define DISAGREEMENT_SECONDS 2
static bool base_is_sure; /* a host told it, or the chip's seconds were seen to follow each other */
static uint8_t unheard;   /* syncs that failed since the last good one */
static uint8_t disagreed; /* readings in a row that cannot be right */

/* The chip tells whole seconds only: it is watched until one begins. */
static bool is_watching;
static uint32_t watched;
static uint32_t sync_at;
static uint8_t sets;

static void begin_sync(uint32_t now) {
    /* Without a chip the crystal goes on from what the host said. */
    uint32_t seconds = base_utc == 0UL ? 0UL : (now - base_ms) / 1000UL;
    base_utc += seconds;
    base_ms += seconds * 1000UL;
    is_watching = state == RTC_RUNNING;
    sync_at = now + SYNC_PERIOD_MS;
}

void calendar_init(void) {
    uint32_t now = clock_ms();
    state = rtc_read(&watched);
    if (state == RTC_RUNNING) {
        base_utc = watched;
        base_ms = now;
    }
    begin_sync(now);
    sets = settings_clock_sets();
}

/* One answer that is wrong may be noise. */
static void note(enum rtc_state seen) {
    if (seen == RTC_ABSENT && unheard < 0xFFU) unheard++;
    if (seen != RTC_ABSENT) {
        failures = 0;
        state = seen;
    } else if (state != RTC_ABSENT && ++failures >= FAILURES_MAX) {
        state = RTC_ABSENT;
        report_warning(WARNING_CLOCK_LOST, 0);
    }
}

static bool agrees(uint32_t utc, uint32_t now) {
    int32_t off = (int32_t)(utc - calendar_utc(now));
    int32_t allowed = DISAGREEMENT_SECONDS + (int32_t)unheard;
    return !base_is_sure || (off <= allowed && off >= -allowed);
}

/* Counted first: a power cut may leave a setting that was counted and not done, which costs a proof, but never the reverse. */
static bool set_chip(uint32_t utc) {
    settings_count_clock_set();
    sets = settings_clock_sets();
    return rtc_set(utc);
}

/* What was read once may be noise on the bus. What is read twice stands in the chip, and was not put there by a host:
 * a disturbance did, and the time is put right by the crystal. */
static void disagree(uint32_t now) {
    if (++disagreed < 2U) return;
    disagreed = 0;
    begin_sync(now);
    is_watching = set_chip(calendar_utc(now + 500UL));
    watched = 0;
}

void calendar_step(void) {
    uint32_t now = clock_ms();
    uint32_t utc;
    if (!is_watching && !clock_due(now, sync_at)) return;
    enum rtc_state seen = rtc_read(&utc);
    if (seen == RTC_RUNNING && !agrees(utc, now)) {
        disagree(now);
        return;
    }
    note(seen);
    disagreed = 0;
    if (seen != RTC_RUNNING) {
        begin_sync(now);
        is_watching = false;
        return;
    }
    if (!is_watching) {
        begin_sync(now);
        watched = utc;
        return;
    }
    if (utc == watched) return;
    /* A second began; if it does not follow the one before, one of the two was read wrongly. */
    bool follows = utc - watched == 1UL;
    watched = utc;
    is_watching = !follows;
    if (!follows && base_is_sure) return;
    base_utc = utc;
    base_ms = now;
    base_is_sure = follows;
    unheard = 0;
}

char calendar_state(void) {
    if (state == RTC_RUNNING) return CLOCK_RUNNING;
    return state == RTC_STOPPED ? CLOCK_STOPPED : CLOCK_ABSENT;
}

uint32_t calendar_utc(uint32_t at_ms) {
    int32_t since = (int32_t)(at_ms - base_ms);
    if (base_utc == 0UL) return 0;
    if (since < 0) return base_utc - (uint32_t)(999L - since) / 1000UL;
    return base_utc + (uint32_t)since / 1000UL;
}

bool calendar_set(uint32_t utc, uint32_t at_ms) {
    bool taken = set_chip(utc);
    base_utc = utc;
    base_ms = at_ms;
    base_is_sure = true;
    failures = 0;
    unheard = 0;
    state = taken ? RTC_RUNNING : RTC_ABSENT;
    is_watching = false;
    sync_at = at_ms + SYNC_PERIOD_MS;
    return taken;
}

uint8_t calendar_sets(void) {
    return sets;
}
