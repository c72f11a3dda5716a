#include "page.h"

#include <stddef.h>
#include <util/crc16.h>

_Static_assert(sizeof(struct page) == LOG_PAGE_BYTES, "a page has 128 bytes");
_Static_assert(offsetof(struct page, payload) == LOG_HEADER_BYTES, "its header has 20");

uint16_t page_crc(uint16_t crc, const void *bytes, uint8_t count) {
    const uint8_t *byte = bytes;
    while (count-- > 0U) crc = _crc_xmodem_update(crc, *byte++);
    return crc;
}

bool page_crc_is_right(uint16_t crc, uint16_t told) {
    return crc == told;
}

static uint16_t crc_of(const struct page *page) {
    return page_crc(PAGE_CRC_START, (const uint8_t *)page + sizeof page->crc, sizeof *page - sizeof page->crc);
}

void page_seal(struct page *page) {
    page->crc = crc_of(page);
}

bool page_is_whole(const struct page *page) {
    return page_crc_is_right(crc_of(page), page->crc) && page_header_is_plausible(page);
}

bool page_header_is_plausible(const struct page *page) {
    if (page->number == 0U || page_probes(page) > PROBES_MAX) return false;
    if (page_kind(page) == LOG_KIND_TABLE) return page->rhythm <= LOG_ROMS_PER_PAGE;
    return page_kind(page) == LOG_KIND_SCANS && page_probes(page) > 0U && page->scans > 0U &&
           page->scans <= PAGE_PAYLOAD_BYTES / page_scan_bytes(page_probes(page));
}

uint8_t page_kind_and_probes(uint8_t kind, uint8_t probes, uint8_t clock_sets) {
    return (uint8_t)(clock_sets << LOG_SETS_SHIFT) | (uint8_t)(kind << LOG_KIND_SHIFT) | probes;
}

uint8_t page_probes(const struct page *page) {
    return page->kind_and_probes & PAGE_PROBES_MASK;
}

uint8_t page_kind(const struct page *page) {
    return (page->kind_and_probes >> LOG_KIND_SHIFT) & 1U;
}

uint8_t page_rhythm(uint8_t period, uint32_t utc) {
    uint8_t second = utc == 0UL ? 0U : (uint8_t)(utc % LOG_SECOND_MODULUS) + 1U;
    return (uint8_t)(second << 4) | (uint8_t)(period - PERIOD_SECONDS_MIN);
}

uint8_t page_period(const struct page *page) {
    return (page->rhythm & 0x0FU) + PERIOD_SECONDS_MIN;
}

uint8_t page_scan_bytes(uint8_t probes) {
    return (uint8_t)((probes * 3U + 1U) / 2U);
}
