import { type BoardId, crc8, parseRomId, type RomId } from '../../units/ids.js';

/** No 1-Wire family: ids that begin so are analog inputs of a board, which have no id of their own. */
export const ANALOG_FAMILY = 0xa0;

/** The id of an analog input: the board's id and the channel, with a CRC like any other. */
export function analogRom(board: BoardId, channel: number): RomId {
  const bytes = [ANALOG_FAMILY, ...Buffer.from(board, 'hex'), 0, channel];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
}
