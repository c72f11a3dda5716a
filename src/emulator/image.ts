import { Refusal } from '../units/refusal.js';

/** Flash of the ATmega328P, bytes. */
export const FLASH_BYTES = 32 * 1024;

const RECORD = /^:((?:[0-9A-F]{2}){5,})$/i;

const refuse = (line: number, what: string): never => {
  throw new Refusal(
    `the image is damaged: line ${line} ${what}; build it again with make in hardware/firmware`,
  );
};

/**
 * Reads Intel HEX into flash words; what the image leaves out stays erased (FFFFh). Each record's checksum
 * is checked and the end record must be there. Throws a Refusal that names the line otherwise.
 */
export function loadImage(hexText: string): Uint16Array {
  const flash = new Uint8Array(FLASH_BYTES).fill(0xff);
  const lines = hexText.split(/\r?\n/);
  for (const [index, text] of lines.entries()) {
    const line = index + 1;
    const hex = RECORD.exec(text)?.[1] ?? refuse(line, 'is not an Intel HEX record');
    const record = Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
    const [count, high, low, type] = record as unknown as [number, number, number, number];
    if (record.length !== count + 5) refuse(line, 'has the wrong length');
    if (record.reduce((sum, byte) => sum + byte, 0) % 256 !== 0) refuse(line, 'has a wrong checksum');
    if (type === 1) return new Uint16Array(flash.buffer);
    if (type !== 0) refuse(line, `has a record type that flash of ${FLASH_BYTES} bytes does not need`);
    const address = high * 256 + low;
    if (address + count > FLASH_BYTES) refuse(line, 'lies behind the end of the flash');
    flash.set(record.subarray(4, 4 + count), address);
  }
  return refuse(lines.length, 'is not the end record');
}
