#include "rtc.h"

#include "i2c.h"

#define RTC_ADDRESS 0xD0U

/* Registers */
enum { SECONDS, MINUTES, HOURS, WEEKDAY, DAY, MONTH, YEAR, TIME_REGISTERS, CONTROL = 0x0E, STATUS = 0x0F };

#define STATUS_OSCILLATOR_STOPPED 0x80U
#define MONTH_MASK 0x1FU /* bit 7 is the century */

#define UNIX_OF_2000 946684800UL
/* No chip was set to an earlier time: one that tells it has lost its own. */
#define UNIX_OF_2026 1767225600UL
#define SECONDS_PER_DAY 86400UL
#define DAYS_2000_TO_2099 36525U

static const uint8_t days_of_month[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

static bool read_registers(uint8_t first, uint8_t *into, uint8_t count) {
    bool done = i2c_start(RTC_ADDRESS) && i2c_write(first) && i2c_start(RTC_ADDRESS | I2C_READ);
    while (done && count-- > 0U) done = i2c_read(into++, count == 0U);
    i2c_stop();
    return done;
}

static bool write_registers(uint8_t first, const uint8_t *bytes, uint8_t count) {
    bool done = i2c_start(RTC_ADDRESS) && i2c_write(first);
    while (done && count-- > 0U) done = i2c_write(*bytes++);
    i2c_stop();
    return done;
}

static bool is_bcd(uint8_t value) {
    return (value & 0x0FU) < 10U && value < 0xA0U;
}

static uint8_t from_bcd(uint8_t value) {
    return (uint8_t)((value >> 4) * 10U + (value & 0x0FU));
}

static uint8_t to_bcd(uint8_t value) {
    return (uint8_t)((value / 10U) << 4 | value % 10U);
}

static uint8_t month_length(uint8_t month, uint8_t year) {
    return days_of_month[month] + (month == 1U && year % 4U == 0U ? 1U : 0U);
}

/* 2000 to 2099: every fourth year is a leap year. Months and days from 0. */
static uint16_t days_since_2000(uint8_t year, uint8_t month, uint8_t day) {
    uint16_t days = (uint16_t)(year * 365U + (year + 3U) / 4U + day);
    for (uint8_t i = 0; i < month; i++) days += month_length(i, year);
    return days;
}

static bool decode(const uint8_t time[TIME_REGISTERS], uint32_t *utc) {
    uint8_t month_bcd = time[MONTH] & MONTH_MASK;
    for (uint8_t i = 0; i < TIME_REGISTERS; i++) {
        if (!is_bcd(i == MONTH ? month_bcd : time[i])) return false;
    }
    uint8_t second = from_bcd(time[SECONDS]);
    uint8_t minute = from_bcd(time[MINUTES]);
    uint8_t hour = from_bcd(time[HOURS]); /* 24-hour mode, as rtc_set() leaves it */
    uint8_t day = from_bcd(time[DAY]) - 1U;
    uint8_t month = from_bcd(month_bcd) - 1U;
    uint8_t year = from_bcd(time[YEAR]);
    if (second > 59U || minute > 59U || hour > 23U || month > 11U || day >= month_length(month, year)) return false;
    *utc = UNIX_OF_2000 + days_since_2000(year, month, day) * SECONDS_PER_DAY + hour * 3600UL + minute * 60U + second;
    return true;
}

static void encode(uint32_t utc, uint8_t time[TIME_REGISTERS]) {
    uint32_t since = utc - UNIX_OF_2000;
    uint16_t days = (uint16_t)(since / SECONDS_PER_DAY);
    uint32_t of_day = since % SECONDS_PER_DAY;
    uint16_t minutes = (uint16_t)(of_day / 60U);
    uint8_t year = 0;
    uint8_t month = 0;
    time[SECONDS] = to_bcd((uint8_t)(of_day % 60U));
    time[MINUTES] = to_bcd((uint8_t)(minutes % 60U));
    time[HOURS] = to_bcd((uint8_t)(minutes / 60U));
    time[WEEKDAY] = (uint8_t)(days % 7U + 1U);
    while (days >= (year % 4U == 0U ? 366U : 365U)) days -= year++ % 4U == 0U ? 366U : 365U;
    while (days >= month_length(month, year)) days -= month_length(month++, year);
    time[DAY] = to_bcd((uint8_t)(days + 1U));
    time[MONTH] = to_bcd(month + 1U);
    time[YEAR] = to_bcd(year);
}

enum rtc_state rtc_read(uint32_t *utc) {
    uint8_t time[TIME_REGISTERS];
    uint8_t status;
    if (!read_registers(STATUS, &status, 1U) || !read_registers(SECONDS, time, TIME_REGISTERS)) return RTC_ABSENT;
    if (status & STATUS_OSCILLATOR_STOPPED) return RTC_STOPPED;
    if (!decode(time, utc)) return RTC_ABSENT;
    return *utc < UNIX_OF_2026 ? RTC_STOPPED : RTC_RUNNING;
}

bool rtc_can_hold(uint32_t utc) {
    return utc >= UNIX_OF_2026 && utc - UNIX_OF_2000 < DAYS_2000_TO_2099 * SECONDS_PER_DAY;
}

bool rtc_set(uint32_t utc) {
    uint8_t time[TIME_REGISTERS];
    uint8_t zero = 0; /* control: oscillator on, also on the cell; status: flags cleared */
    uint32_t back;
    encode(utc, time);
    if (!write_registers(CONTROL, &zero, 1U) || !write_registers(SECONDS, time, TIME_REGISTERS) ||
        !write_registers(STATUS, &zero, 1U))
        return false;
    return rtc_read(&back) == RTC_RUNNING && back - utc <= 1U;
}
