import { expect } from 'vitest';
import { MEMORY_BYTES } from '../../../src/emulator/serialMemory.js';
import type { Bench } from '../../emulator/bench.js';

/** Pages of the log as docs/wire-protocol.md describes them, read and written without the host's code. */
export const PAGE_BYTES = 128;
export const PLACES = 512;
const PART_BYTES = 32;
const HEADER_BYTES = 20;

export interface LoggedScan {
  readonly boot: number;
  readonly scan: number;
  readonly ms: number;
  /** 12 bits each, as on the page. */
  readonly values: readonly number[];
}

/** CRC-16/CCITT-FALSE over bytes. */
export function crcOf(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit += 1) crc = ((crc << 1) ^ (crc & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return crc;
}

const viewOf = (page: Uint8Array) => new DataView(page.buffer, page.byteOffset, PAGE_BYTES);
export const isWhole = (page: Uint8Array): boolean =>
  viewOf(page).getUint16(0, true) === crcOf(page.subarray(2));
export const numberOf = (page: Uint8Array): number => (page[2] ?? 0) | (viewOf(page).getUint16(3, true) << 8);

/** The scans on a page whose CRC is right. */
export function scansOf(page: Uint8Array): LoggedScan[] {
  const view = viewOf(page);
  if (!isWhole(page) || ((view.getUint8(7) >> 5) & 1) !== 1) return [];
  const count = view.getUint8(7) & 0x1f;
  const bytes = Math.ceil((count * 3) / 2);
  return Array.from({ length: view.getUint8(18) }, (_, index) => {
    const from = HEADER_BYTES + index * bytes;
    const nibbles = [...page.subarray(from, from + bytes)].flatMap((byte) => [byte >> 4, byte & 15]);
    return {
      boot: view.getUint16(8, true),
      scan: view.getUint16(14, true) + index,
      ms: view.getUint32(10, true) + index * ((view.getUint8(19) & 0x0f) + 10) * 1000,
      values: Array.from(
        { length: count },
        (_, at) => (nibbles[at * 3]! << 8) | (nibbles[at * 3 + 1]! << 4) | nibbles[at * 3 + 2]!,
      ),
    };
  });
}

/** Asks for the pages from one on, up to `count`, and puts the parts together: the pages that came whole. */
export function pagesOf(bench: Bench, from = 1, count = 0xffff): Uint8Array[] {
  const hex = (value: number, digits: number) => value.toString(16).toUpperCase().padStart(digits, '0');
  const before = bench.lines.length;
  expect(bench.ask('R', hex(from, 6), hex(count, 4))[0]).toBe('K');
  for (let seen = -1; seen !== bench.of('L').length; ) {
    seen = bench.of('L').length;
    bench.run(bench.board.ms + 1500);
  }
  const pages = new Map<string, Uint8Array>();
  for (const { kind, fields } of bench.lines.slice(before)) {
    if (kind !== 'L') continue;
    const [number = '', part = '', bytes = ''] = fields;
    const page = pages.get(number) ?? new Uint8Array(PAGE_BYTES);
    page.set(Buffer.from(bytes, 'hex'), Number(part) * PART_BYTES);
    pages.set(number, page);
  }
  return [...pages.values()];
}

/** Every scan that the board sends again. */
export const readBack = (bench: Bench, from = 1): LoggedScan[] => pagesOf(bench, from).flatMap(scansOf);

/** What was said live: every scan of every boot but its first. */
export function live(bench: Bench): LoggedScan[] {
  const scans = new Map<string, { boot: number; scan: number; ms: number; values: number[] }>();
  for (const { boot, boardMs, fields } of bench.of('S')) {
    const scan = Number.parseInt(fields[1] ?? '', 16);
    if (scan < 2) continue;
    const entry = scans.get(`${boot} ${scan}`) ?? { boot, scan, ms: boardMs, values: [] };
    scans.set(`${boot} ${scan}`, entry);
    for (const text of fields.slice(2))
      entry.values.push(
        text[1] === '+' ? Number.parseInt(text.slice(2), 16) & 0xfff : 0x800 | (text[1] ?? '').charCodeAt(0),
      );
  }
  return [...scans.values()];
}

export const keyOf = ({ boot, scan, values }: LoggedScan): string => `${boot} ${scan} ${values.join(' ')}`;

/** Boots of the board whose pages writtenRing() writes: none that a test's board will reach. */
const EARLIER_BOOT = 0x7000;
export const isEarlier = ({ boot }: LoggedScan): boolean => boot >= EARLIER_BOOT;

/** The page `number` of a board that logged one probe: a single scan whose value is the page's number, modulo 1024. */
export function writtenPage(number: number, unacknowledged: number): Uint8Array {
  const page = new Uint8Array(PAGE_BYTES);
  const view = viewOf(page);
  view.setUint16(2, number & 0xffff, true);
  view.setUint8(4, number >> 16);
  view.setUint16(5, Math.min(unacknowledged, 0xffff), true);
  view.setUint8(7, (1 << 5) | 1);
  view.setUint16(8, EARLIER_BOOT, true);
  view.setUint32(10, number * 20_000, true);
  view.setUint16(14, number & 0xffff, true);
  view.setUint8(17, 1);
  view.setUint8(18, 1);
  view.setUint8(19, 20 - 10);
  view.setUint16(HEADER_BYTES, (number & 0x3ff) << 4);
  view.setUint16(0, crcOf(page.subarray(2)), true);
  return page;
}

/** What the memory holds when pages up to `newest` were written and all up to `acknowledged` are on a host. */
export function writtenRing(newest: number, acknowledged = newest): Uint8Array {
  const bytes = new Uint8Array(MEMORY_BYTES).fill(0xff);
  for (let number = Math.max(1, newest - PLACES + 1); number <= newest; number += 1)
    bytes.set(writtenPage(number, Math.max(0, number - 1 - acknowledged)), (number % PLACES) * PAGE_BYTES);
  return bytes;
}
