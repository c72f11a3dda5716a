/* A page of the log (docs/wire-protocol.md): header, scans or table, all under a CRC. Least significant byte first. */
#ifndef PAGE_H
#define PAGE_H

#include "frames.h"

#include <stdbool.h>
#include <stdint.h>

struct page {
    uint16_t crc; /* CRC-16/CCITT-FALSE of all that follows */
    __uint24 number;
    uint16_t unacknowledged; /* pages before this one that no host had acknowledged, at most FFFFh */
    uint8_t kind_and_probes; /* two bits of calendar_sets(), one of kind, five of probes */
    uint16_t boot;
    uint32_t ms;
    __uint24 scan;
    uint8_t table;
    uint8_t scans;  /* scans page: how many; table page: index of the first ROM */
    uint8_t rhythm; /* scans page: period and second, see page_rhythm(); table page: how many ROMs */
    uint8_t payload[LOG_PAGE_BYTES - LOG_HEADER_BYTES];
} __attribute__((packed));

#define PAGE_PAYLOAD_BYTES (LOG_PAGE_BYTES - LOG_HEADER_BYTES)
#define PAGE_PROBES_MASK 0x1FU

/* The CRC goes on over parts of a page. */
#define PAGE_CRC_START 0xFFFFU
uint16_t page_crc(uint16_t crc, const void *bytes, uint8_t count);

bool page_crc_is_right(uint16_t crc, uint16_t told);

void page_seal(struct page *page);
bool page_is_whole(const struct page *page);

/* True for a header that this firmware could have written. */
bool page_header_is_plausible(const struct page *page);

uint8_t page_kind_and_probes(uint8_t kind, uint8_t probes, uint8_t clock_sets);
uint8_t page_probes(const struct page *page);
uint8_t page_kind(const struct page *page);

/* Seconds from scan to scan, and the clock's second at the first scan (0 for none). */
uint8_t page_rhythm(uint8_t period, uint32_t utc);
uint8_t page_period(const struct page *page);

/* Bytes of one scan of so many probes: 12 bits each. */
uint8_t page_scan_bytes(uint8_t probes);

#endif
