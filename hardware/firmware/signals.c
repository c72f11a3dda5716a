#include "signals.h"

#include "clock.h"
#include "pins.h"

/* Timer2 toggles the piezo's pin: clock / 64 / 2 / (1 + OCR2A). */
#define ACT_OCR 45U /* 2717 Hz */
#define DUE_OCR 92U /* 1344 Hz */

/* Everything is on or off for whole quarters of a second. */
#define STEP_MS 250UL
#define PAUSE_STEPS 6U /* between the blinks of two slots */
#define DUE_STEPS 8U   /* a due sound: two short notes in two seconds */
#define LOG_FLASH_STEPS 32U
#define LOG_FLASH_ON_STEPS 4U

static enum signals_sound sound;
static uint16_t slots;
static bool log_needs_host;

static uint32_t step_at;
static uint8_t step;       /* counts quarters, wraps */
static uint8_t blink_slot; /* whose number is being blinked, from 0 */
static uint8_t blink_step;

static void led(bool on) {
    if (on) LED_PORT |= _BV(LED_BIT);
    else LED_PORT &= (uint8_t)~_BV(LED_BIT);
}

static void tone(uint8_t ocr) {
    OCR2A = ocr;
    TCCR2A = _BV(COM2A0) | _BV(WGM21);
    TCCR2B = _BV(CS22);
}

static void silence(void) {
    TCCR2B = 0;
    TCCR2A = 0; /* the pin falls back to PORT, which is 0 */
}

void signals_init(void) {
    LED_DDR |= _BV(LED_BIT);
    PIEZO_DDR |= _BV(PIEZO_BIT);
    step_at = clock_ms();
}

void signals_show(enum signals_sound new_sound, uint16_t new_slots, bool new_log_needs_host) {
    sound = new_sound;
    slots = new_slots;
    log_needs_host = new_log_needs_host;
}

static void sound_step(void) {
    if (sound == SIGNALS_ACT && (step & 1U) == 0U) tone(ACT_OCR);
    else if (sound == SIGNALS_DUE && (step % DUE_STEPS == 0U || step % DUE_STEPS == 2U)) tone(DUE_OCR);
    else silence();
}

static void next_blink_slot(void) {
    for (uint8_t i = 0; i < 16U; i++) {
        blink_slot = (blink_slot + 1U) & 0x0FU;
        if (slots & (uint16_t)(1U << blink_slot)) break;
    }
    blink_step = 0;
}

/* Slot n: n times on and off, then a pause. */
static void led_step(void) {
    if (slots == 0U) {
        led(log_needs_host && step % LOG_FLASH_STEPS < LOG_FLASH_ON_STEPS);
        blink_slot = 15;
        blink_step = 2U * 16U + PAUSE_STEPS;
        return;
    }
    uint8_t blinks = 2U * (blink_slot + 1U);
    if (blink_step >= blinks + PAUSE_STEPS) {
        next_blink_slot();
        blinks = 2U * (blink_slot + 1U);
    }
    led(blink_step < blinks && (blink_step & 1U) == 0U);
    blink_step++;
}

void signals_step(void) {
    if (!clock_due(clock_ms(), step_at)) return;
    step_at += STEP_MS;
    step++;
    sound_step();
    led_step();
}
