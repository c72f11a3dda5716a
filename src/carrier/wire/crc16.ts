/** CRC-16/CCITT-FALSE (polynomial 1021h, initial FFFFh, not reflected) over the low bytes of a text. */
export function crc16(text: string): number {
  let crc = 0xffff;
  for (let index = 0; index < text.length; index += 1) {
    crc ^= (text.charCodeAt(index) & 0xff) << 8;
    for (let bit = 0; bit < 8; bit += 1)
      crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
  }
  return crc;
}
