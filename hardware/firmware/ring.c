#include "ring.h"

#include "memory.h"
#include "report.h"

#include <string.h>

#define NOINIT __attribute__((section(".noinit")))

/* Finished pages that RAM keeps while there is no memory. */
#define RAM_PAGES 2U
#define HEADERS_PER_STEP 16U
/* Candidates for the newest page that turn out damaged before the rest is given up. */
#define FALSE_CANDIDATES_MAX 16U
#define PLACE_NONE 0xFFFFU

struct page ring_page NOINIT;
static struct page ram_pages[RAM_PAGES] NOINIT;

static char store;
static __uint24 newest;
static __uint24 oldest;
static uint16_t saved_at; /* place of the newest copy of ring_page */

/* The search for the newest page. */
static struct {
    uint16_t place;
    uint32_t best;  /* rank of the best header of this round, 0 for none */
    uint32_t below; /* ranks from here on turned out damaged */
    uint16_t best_place;
    uint8_t false_candidates;
} mount;

static uint16_t home_of(__uint24 number) {
    return (uint16_t)(number % LOG_PAGES);
}

static uint16_t alternate_of(__uint24 number) {
    return (uint16_t)((number + 1U) % LOG_PAGES);
}

static uint16_t address_of(uint16_t place) {
    return (uint16_t)(place * LOG_PAGE_BYTES);
}

static bool is_known(const struct page *page, __uint24 number) {
    return page->number == number && page_is_whole(page);
}

static void forget_ram_pages(void) {
    for (uint8_t i = 0; i < RAM_PAGES; i++) ram_pages[i].number = 0;
}

void ring_init(bool is_power_on) {
    if (is_power_on || !page_is_whole(&ring_page)) ring_page.number = 0;
    if (is_power_on) forget_ram_pages();
    memset(&mount, 0, sizeof mount);
    mount.below = 0xFFFFFFFFUL;
    saved_at = PLACE_NONE;
    store = LOG_STORE_MOUNTING;
}

/* A later page ranks higher, and of two copies the one with more scans; of equal copies the one at its own place. */
static uint32_t rank_of(const struct page *header, uint16_t place) {
    uint32_t rank = (uint32_t)header->number << 8;
    if (page_kind(header) == LOG_KIND_SCANS) rank |= (uint8_t)(header->scans << 1);
    return rank | (place == home_of(header->number) ? 1U : 0U);
}

static bool read_page(uint16_t place, struct page *into) {
    return memory_read(address_of(place), into, sizeof *into) && page_is_whole(into);
}

static void consider(const struct page *header, uint16_t place) {
    if (!page_header_is_plausible(header)) return;
    if (place != home_of(header->number) && place != alternate_of(header->number)) return;
    uint32_t rank = rank_of(header, place);
    if (rank <= mount.best || rank >= mount.below) return;
    mount.best = rank;
    mount.best_place = place;
}

static void without_memory(void) {
    store = LOG_STORE_RAM;
    saved_at = PLACE_NONE;
    oldest = newest;
    for (uint8_t i = 0; i <= RAM_PAGES; i++) {
        const struct page *page = i == RAM_PAGES ? &ring_page : &ram_pages[i];
        if (!page_is_whole(page)) continue;
        if (page->number > newest) newest = page->number;
        if (oldest == 0U || page->number < oldest) oldest = page->number;
    }
    if (oldest == 0U) oldest = 1U;
    report_warning(WARNING_MEMORY_LOST, 0);
}

/* One failure may be noise. */
static bool write_page(uint16_t place, const struct page *page) {
    return memory_write_page(address_of(place), page) || memory_write_page(address_of(place), page);
}

static bool is_same_page(const struct page *a, const struct page *b) {
    return a->number == b->number && a->boot == b->boot && a->kind_and_probes == b->kind_and_probes;
}

/* Gives a page of RAM a place in the memory: its own if it is later than all that are there, or the newest of them.
 * False when the memory does not take it. */
static bool adopt(struct page *page, struct page *found) {
    if (!page_is_whole(page)) return true;
    bool is_found = is_same_page(page, found);
    if (page->number <= newest && !is_found) page->number = newest + 1U;
    page_seal(page);
    if (!write_page(home_of(page->number), page)) return false;
    newest = page->number;
    if (is_found) {
        *found = *page; /* which went on in RAM from the copy that was found */
        mount.best_place = home_of(newest);
    }
    page->number = 0;
    return true;
}

/* What RAM kept while there was no memory, the older first. */
static bool adopt_ram_pages(struct page *found) {
    uint8_t first = ram_pages[0].number < ram_pages[1].number ? 0U : 1U;
    for (uint8_t i = 0; i < RAM_PAGES; i++) {
        if (!adopt(&ram_pages[(first + i) % RAM_PAGES], found)) return false;
    }
    return true;
}

/* The memory is read: what it lacks of the page in RAM is added, and the newest page ends at its own place. */
static void mounted(struct page *found) {
    bool is_longer = false;
    newest = found->number;
    if (!adopt_ram_pages(found)) {
        without_memory();
        return;
    }
    store = LOG_STORE_MEMORY;
    if (page_is_whole(&ring_page) && !is_same_page(&ring_page, found)) {
        if (ring_page.number <= newest) ring_page.number = newest + 1U;
        newest = ring_page.number;
    } else if (found->number != 0U) {
        is_longer = page_is_whole(&ring_page) && ring_page.scans > found->scans;
        if (!is_longer) ring_page = *found;
        saved_at = mount.best_place;
    }
    oldest = newest > LOG_PAGES - 2U ? newest - (LOG_PAGES - 2U) : 1U;
    if (ring_page.number != newest || newest == 0U) return;
    if (is_longer) ring_save();
    ring_finish();
}

__attribute__((noinline)) bool ring_mount_step(void) {
    struct page found;
    if (store != LOG_STORE_MOUNTING) return false;
    for (uint8_t i = 0; i < HEADERS_PER_STEP; i++, mount.place++) {
        if (!memory_read(address_of(mount.place), &found, LOG_HEADER_BYTES)) {
            without_memory();
            return false;
        }
        consider(&found, mount.place);
    }
    if (mount.place < LOG_PAGES) return true;
    mount.place = 0;
    if (mount.best != 0U && !read_page(mount.best_place, &found) && ++mount.false_candidates < FALSE_CANDIDATES_MAX) {
        mount.below = mount.best;
        mount.best = 0;
        return true;
    }
    if (mount.best == 0U || !page_is_whole(&found)) found.number = 0;
    mounted(&found);
    return false;
}

char ring_store(void) {
    return store;
}

__uint24 ring_newest(void) {
    return newest;
}

__uint24 ring_oldest(void) {
    return oldest;
}

void ring_begin(void) {
    /* Without the memory the page before is in RAM only. */
    if (store == LOG_STORE_RAM && page_is_whole(&ring_page)) ram_pages[ring_page.number % RAM_PAGES] = ring_page;
    uint16_t before = store == LOG_STORE_MEMORY ? LOG_PAGES - 2U : RAM_PAGES;
    memset(&ring_page, 0, sizeof ring_page);
    ring_page.number = ++newest;
    saved_at = PLACE_NONE;
    if (newest > oldest + before) oldest = newest - before;
}

static void lose_memory(void) {
    store = LOG_STORE_RAM;
    saved_at = PLACE_NONE;
    report_warning(WARNING_MEMORY_LOST, 0);
}

static void save_at(uint16_t place) {
    if (write_page(place, &ring_page)) saved_at = place;
    else lose_memory();
}

void ring_save(void) {
    if (store != LOG_STORE_MEMORY) return;
    uint16_t alternate = alternate_of(newest);
    save_at(saved_at == alternate ? home_of(newest) : alternate);
}

void ring_retry(void) {
    uint8_t header[LOG_HEADER_BYTES];
    if (store != LOG_STORE_RAM || !memory_read(0, header, sizeof header)) return;
    report_warning(WARNING_MEMORY_BACK, 0);
    ring_init(false);
}

/* Compares a place with ring_page, part by part. */
static bool holds_ring_page(uint16_t place) {
    uint8_t part[LOG_PART_BYTES];
    for (uint8_t at = 0; at < LOG_PAGE_BYTES; at += LOG_PART_BYTES) {
        if (!memory_read(address_of(place) + at, part, sizeof part) ||
            memcmp(part, (const uint8_t *)&ring_page + at, sizeof part) != 0)
            return false;
    }
    return true;
}

void ring_finish(void) {
    uint16_t home = home_of(newest);
    page_seal(&ring_page);
    if (store == LOG_STORE_MEMORY && saved_at != home) save_at(home);
    /* What was not written well is written once more. */
    if (store == LOG_STORE_MEMORY && !holds_ring_page(home)) save_at(home);
}

static const struct page *find_in_ram(__uint24 number) {
    if (is_known(&ring_page, number)) return &ring_page;
    for (uint8_t i = 0; i < RAM_PAGES; i++) {
        if (is_known(&ram_pages[i], number)) return &ram_pages[i];
    }
    return 0;
}

/* True for a page that is whole at its place; it is read in parts, for the stack's sake. */
static bool is_kept(__uint24 number) {
    uint8_t part[LOG_PART_BYTES];
    uint16_t crc = PAGE_CRC_START;
    uint16_t told = 0;
    for (uint8_t at = 0; at < LOG_PAGE_BYTES; at += LOG_PART_BYTES) {
        if (!memory_read(address_of(home_of(number)) + at, part, sizeof part)) return false;
        if (at != 0U) {
            crc = page_crc(crc, part, sizeof part);
            continue;
        }
        const struct page *header = (const struct page *)part;
        if (header->number != number || !page_header_is_plausible(header)) return false;
        told = header->crc;
        crc = page_crc(crc, part + sizeof header->crc, sizeof part - sizeof header->crc);
    }
    return page_crc_is_right(crc, told);
}

bool ring_read(__uint24 number, uint8_t part, uint8_t into[LOG_PART_BYTES]) {
    const struct page *page = find_in_ram(number);
    uint16_t address = address_of(home_of(number));
    if (page != 0) {
        memcpy(into, (const uint8_t *)page + part * LOG_PART_BYTES, LOG_PART_BYTES);
        return true;
    }
    if (store != LOG_STORE_MEMORY) return false;
    if (part == 0U && !is_kept(number)) return false;
    return memory_read(address + part * LOG_PART_BYTES, into, LOG_PART_BYTES);
}
