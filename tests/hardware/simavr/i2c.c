#include "i2c.h"

#include "agenda.h"

#include <stddef.h>

#define CHIPS_MAX 4U
/* Fast mode: clock low at least 1.3 us, high at least 0.6 us, rise at most 0.3 us; in cycles. */
#define LOW_MIN 21U
#define HIGH_MIN 10U
#define RISE 5U

enum phase { IDLE, ADDRESS, WRITE, READ };

/* The interface of one chip. */
struct slave {
    const struct i2c_chip *chip;
    enum phase phase;
    unsigned clocks; /* rising edges within the byte, its acknowledgement being the ninth */
    uint8_t shift;
    bool is_selected;
    bool acknowledges; /* it, as the receiver, or the master, as the receiver */
    bool pulls;
};

/* Open drain: low while anybody pulls, high a rise time after the last one lets go. */
struct wire {
    bool is_high;
    struct event rising;
};

static void sda_rises(void *unused);
static void scl_rises(void *unused);

static void (*tell_levels)(bool sda, bool scl);
static struct slave slaves[CHIPS_MAX];
static unsigned slave_count;

static bool master_pulls_sda;
static struct wire sda = {.is_high = true, .rising = {.happen = sda_rises}};
static struct wire scl = {.is_high = true, .rising = {.happen = scl_rises}};
static uint64_t scl_edge_at;
static unsigned violations;

void i2c_attach(void (*levels)(bool sda_is_high, bool scl_is_high)) {
    tell_levels = levels;
}

void i2c_add(const struct i2c_chip *chip) {
    slaves[slave_count++] = (struct slave){.chip = chip};
}

static void end(struct slave *s, bool is_stop) {
    if (s->is_selected) s->chip->ended(is_stop);
    s->is_selected = false;
    s->pulls = false;
    s->phase = is_stop ? IDLE : ADDRESS;
    s->clocks = 0;
    s->shift = 0;
}

static void clock_rose(struct slave *s) {
    if (s->phase == IDLE) return;
    s->clocks++;
    if (s->clocks <= 8U && s->phase != READ) s->shift = (uint8_t)(s->shift << 1 | (sda.is_high ? 1U : 0U));
    if (s->clocks == 9U && s->phase == READ) s->acknowledges = !sda.is_high;
}

/* The eighth clock of a byte from the master has ended. */
static void take_byte(struct slave *s) {
    if (s->phase == ADDRESS) {
        s->is_selected = s->shift >> 1 == s->chip->address && s->chip->addressed((s->shift & 1U) != 0U);
        s->acknowledges = s->is_selected;
    } else {
        s->acknowledges = s->chip->written(s->shift);
    }
    s->pulls = s->acknowledges;
    if (!s->acknowledges && !s->is_selected) s->phase = IDLE;
}

static void give_byte(struct slave *s) {
    s->shift = s->chip->read();
    s->clocks = 0;
    s->pulls = (s->shift & 0x80U) == 0U;
}

/* The clock of an acknowledgement has ended. */
static void next_byte(struct slave *s) {
    bool is_read = s->phase == READ || (s->phase == ADDRESS && (s->shift & 1U) != 0U);
    s->pulls = false;
    s->clocks = 0;
    s->phase = !s->acknowledges ? IDLE : is_read ? READ : WRITE;
    if (s->phase == READ) give_byte(s);
    else s->shift = 0;
}

static void clock_fell(struct slave *s) {
    if (s->phase == IDLE) return;
    if (s->clocks == 9U) next_byte(s);
    else if (s->phase == READ) s->pulls = s->clocks < 8U && (s->shift << s->clocks & 0x80U) == 0U;
    else if (s->clocks == 8U) take_byte(s);
}

/* Lets the line follow those who pull. True when it falls. */
static bool follow(struct wire *wire, bool is_pulled) {
    bool falls = is_pulled && wire->is_high;
    if (is_pulled) agenda_cancel(&wire->rising);
    else if (!wire->is_high && !wire->rising.is_set) agenda_set(&wire->rising, agenda_now() + RISE);
    return falls;
}

/* START or STOP, if the clock is high. */
static void change_sda(bool high) {
    sda.is_high = high;
    tell_levels(sda.is_high, scl.is_high);
    for (unsigned i = 0; scl.is_high && i < slave_count; i++) end(&slaves[i], high);
}

static void settle_sda(void) {
    bool is_pulled = master_pulls_sda;
    for (unsigned i = 0; i < slave_count; i++) is_pulled = is_pulled || slaves[i].pulls;
    if (follow(&sda, is_pulled)) change_sda(false);
}

static void change_scl(bool high) {
    uint64_t now = agenda_now();
    if (now - scl_edge_at < (high ? LOW_MIN : HIGH_MIN)) violations++;
    scl_edge_at = now;
    scl.is_high = high;
    tell_levels(sda.is_high, scl.is_high);
    for (unsigned i = 0; i < slave_count; i++) {
        if (high) clock_rose(&slaves[i]);
        else clock_fell(&slaves[i]);
    }
    settle_sda();
}

static void sda_rises(void *unused) {
    (void)unused;
    change_sda(true);
}

static void scl_rises(void *unused) {
    (void)unused;
    change_scl(true);
}

void i2c_master(bool pulls_sda, bool pulls_scl) {
    if (follow(&scl, pulls_scl)) change_scl(false);
    master_pulls_sda = pulls_sda;
    settle_sda();
}

bool i2c_sda_is_high(void) {
    return sda.is_high;
}

bool i2c_scl_is_high(void) {
    return scl.is_high;
}

bool i2c_chip_sends_zero(void) {
    bool any = false;
    for (unsigned i = 0; i < slave_count; i++) any = any || (slaves[i].phase == READ && slaves[i].pulls);
    return any;
}

unsigned i2c_violations(void) {
    return violations;
}
