import { crc16 } from '../../../src/carrier/wire/crc16.js';

/** A line as the board frames it, without CR LF. */
export function framed(
  kind: string,
  boot: number,
  sequence: number,
  boardMs: number,
  ...fields: string[]
): string {
  const hex = (n: number, digits: number) => n.toString(16).toUpperCase().padStart(digits, '0');
  const text = [kind, hex(boot, 4), hex(sequence, 4), hex(boardMs, 8), ...fields].join(',');
  return `$${text}*${hex(crc16(text), 4)}`;
}

export const BOARD = '0A1B2C3D';
/** ROM ids that check: published clone report, CC BY (reference/sensing.md 1.2). */
export const ROMS = ['28-13-9B-BB-0B-00-00-1F', '28-CA-D6-10-10-00-00-FE'] as const;
export const bootLine = (boot: number, sequence: number, boardMs = 12) =>
  framed('B', boot, sequence, boardMs, '01', '0.1.0', BOARD, 'P', 'A');
export const probesLine = (boot: number, sequence: number, table = 1) =>
  framed(
    'P',
    boot,
    sequence,
    40,
    `0${table}`,
    '02',
    ...ROMS.map((rom, index) => `${index}.${rom.replaceAll('-', '')}`),
  );
