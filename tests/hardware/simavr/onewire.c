#include "onewire.h"

#include "agenda.h"

#define LISTENERS_MAX 16U
/* 2.2 kOhm and 450 pF of cable and probes */
#define RISE MICROSECONDS(1)

static void (*tell_level)(bool is_high);
static struct onewire_listener listeners[LISTENERS_MAX];
static unsigned listener_count;

static unsigned pulls; /* how many pull */
static bool master_pulls;
static bool is_high = true;
static uint64_t rose_at;

static uint64_t master_fell_at;
static bool was_reset;
static unsigned violations;

static void change(bool to_high) {
    if (is_high == to_high) return;
    is_high = to_high;
    if (is_high) rose_at = agenda_now();
    tell_level(is_high);
    for (unsigned i = 0; i < listener_count; i++) listeners[i].edge(listeners[i].device, is_high);
}

static void rise(void *unused) {
    (void)unused;
    change(true);
}

static struct event rising = {.happen = rise};

void onewire_attach(void (*level)(bool is_high)) {
    tell_level = level;
}

void onewire_listen(struct onewire_listener listener) {
    listeners[listener_count++] = listener;
}

void onewire_pull(void) {
    pulls++;
    agenda_cancel(&rising);
    change(false);
}

void onewire_let_go(void) {
    if (--pulls == 0U) agenda_set(&rising, agenda_now() + RISE);
}

/* DS18B20 datasheet, AC characteristics: slot 60-120 us, recovery at least 1, reset low 480-960 and as long high. */
static void check_fall(uint64_t now) {
    uint64_t since = now - master_fell_at;
    if (master_fell_at == 0U) return;
    if (!is_high || now - rose_at < MICROSECONDS(1)) violations++;
    if (since < MICROSECONDS(60) || (was_reset && since < MICROSECONDS(960))) violations++;
}

/* Write 1 and read: low 1-15 us. Write 0: 60-120. */
static void check_low(uint64_t low) {
    bool is_one = low >= MICROSECONDS(1) && low <= MICROSECONDS(15);
    bool is_zero = low >= MICROSECONDS(60) && low <= MICROSECONDS(120);
    was_reset = low >= MICROSECONDS(480) && low <= MICROSECONDS(960);
    if (!is_one && !is_zero && !was_reset) violations++;
}

void onewire_master(bool now_pulls) {
    uint64_t now = agenda_now();
    if (now_pulls == master_pulls) return;
    master_pulls = now_pulls;
    if (now_pulls) {
        check_fall(now);
        master_fell_at = now;
        onewire_pull();
    } else {
        check_low(now - master_fell_at);
        onewire_let_go();
    }
}

bool onewire_is_high(void) {
    return is_high;
}

unsigned onewire_violations(void) {
    return violations;
}
