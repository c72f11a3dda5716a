import { crc16 } from '../../../src/carrier/wire/crc16.js';
import { framed } from './lines.js';

/** Pages of the log as docs/wire-protocol.md describes them, written by hand: shares no code with the reader but the CRC. */
export interface ScansSpec {
  readonly page: number;
  readonly boot: number;
  readonly table: number;
  readonly firstMs: number;
  readonly firstScan: number;
  readonly periodSeconds: number;
  /** The clock's second at the first scan, modulo 15; absent when no clock runs. */
  readonly second?: number;
  /** How often the clock had been set; never when absent. */
  readonly sets?: number;
  /** One row a scan: sixteenths, or the letter of a status. */
  readonly scans: readonly (readonly (number | string)[])[];
}
export interface TableSpec {
  readonly page: number;
  readonly boot: number;
  readonly table: number;
  readonly boardMs: number;
  readonly utcSeconds: number;
  readonly clock: string;
  readonly board: string;
  readonly roms: readonly string[];
  readonly nextScan: number;
  readonly from?: number;
  /** How often the clock had been set; never when absent. */
  readonly sets?: number;
}

const put = (page: Uint8Array, at: number, count: number, value: number) => {
  for (let index = 0; index < count; index += 1) page[at + index] = Math.floor(value / 256 ** index) % 256;
};

export function sealed(page: Uint8Array): Uint8Array {
  put(page, 0, 2, crc16(Buffer.from(page.subarray(2)).toString('latin1')));
  return page;
}

export function scansPage(spec: ScansSpec): Uint8Array {
  const page = new Uint8Array(128);
  const probes = spec.scans[0]?.length ?? 1;
  put(page, 2, 3, spec.page);
  page[7] = (((spec.sets ?? 0) % 4) << 6) | (1 << 5) | probes;
  put(page, 8, 2, spec.boot);
  put(page, 10, 4, spec.firstMs);
  put(page, 14, 3, spec.firstScan);
  page[17] = spec.table;
  page[18] = spec.scans.length;
  page[19] = (spec.periodSeconds - 10) | ((spec.second === undefined ? 0 : spec.second + 1) << 4);
  let bits = '';
  const rows: string[] = [];
  for (const scan of spec.scans) {
    bits = scan
      .map((value) => (typeof value === 'number' ? value & 0xfff : 0x800 | value.charCodeAt(0)))
      .map((value) => value.toString(2).padStart(12, '0'))
      .join('');
    rows.push(bits.padEnd(Math.ceil(bits.length / 8) * 8, '0'));
  }
  (rows.join('').match(/.{8}/g) ?? []).forEach((byte, index) => {
    page[20 + index] = Number.parseInt(byte, 2);
  });
  return sealed(page);
}

export function tablePage(spec: TableSpec): Uint8Array {
  const page = new Uint8Array(128);
  const from = spec.from ?? 0;
  const here = spec.roms.slice(from, from + 12);
  put(page, 2, 3, spec.page);
  page[7] = (((spec.sets ?? 0) % 4) << 6) | spec.roms.length;
  put(page, 8, 2, spec.boot);
  put(page, 10, 4, spec.boardMs);
  put(page, 14, 3, spec.nextScan);
  page[17] = spec.table;
  page[18] = from;
  page[19] = here.length;
  put(page, 20, 4, Number.parseInt(spec.board, 16));
  put(page, 24, 4, spec.utcSeconds);
  page[28] = spec.clock.charCodeAt(0);
  page[29] = 'P'.charCodeAt(0);
  page[30] = 3;
  page[127] = spec.sets ?? 0;
  here.forEach((rom, index) => {
    rom.split('-').forEach((pair, byte) => {
      page[31 + index * 8 + byte] = Number.parseInt(pair, 16);
    });
  });
  return sealed(page);
}

/** The four lines in which a page is sent. */
export const pageLines = (bytes: Uint8Array, number: number, boot: number, sequence: number): string[] =>
  [0, 1, 2, 3].map((part) =>
    framed(
      'L',
      boot,
      sequence + part,
      5000,
      number.toString(16).toUpperCase().padStart(6, '0'),
      `${part}`,
      Buffer.from(bytes.subarray(part * 32, part * 32 + 32))
        .toString('hex')
        .toUpperCase(),
    ),
  );
