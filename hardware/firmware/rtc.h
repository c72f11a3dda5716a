/* The clock chip (DS3231 registers, coin cell), read and set as Unix seconds, 2000 to 2099. */
#ifndef RTC_H
#define RTC_H

#include <stdbool.h>
#include <stdint.h>

enum rtc_state {
    RTC_ABSENT,  /* does not answer, or answers nonsense */
    RTC_STOPPED, /* its oscillator has stopped since it was set: it does not know the time */
    RTC_RUNNING,
};

/* `*utc` is set only when it runs. */
enum rtc_state rtc_read(uint32_t *utc);

/* Sets the time, starts the oscillator and clears its stopped flag; the second begins now. */
bool rtc_set(uint32_t utc);

/* True for the seconds that the chip can hold. */
bool rtc_can_hold(uint32_t utc);

#endif
