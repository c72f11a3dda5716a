import { inflateSync } from 'node:zlib';

/** A picture: three bytes a pixel, row by row. */
export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly rgb: Uint8Array;
}

/** Reads a PNG file of 8-bit colours, with or without transparency (which is left out), not interlaced. */
export function readPng(file: Buffer): Picture {
  const chunks: { name: string; data: Buffer }[] = [];
  for (let at = 8; at < file.length; at += 12 + file.readUInt32BE(at))
    chunks.push({
      name: file.toString('latin1', at + 4, at + 8),
      data: file.subarray(at + 8, at + 8 + file.readUInt32BE(at)),
    });
  const head = chunks.find(({ name }) => name === 'IHDR')!.data;
  const [width, height] = [head.readUInt32BE(0), head.readUInt32BE(4)];
  const channels = { 2: 3, 6: 4 }[head[9]!];
  if (head[8] !== 8 || !channels || head[12] !== 0) throw new Error('a PNG of another kind');
  const raw = inflateSync(
    Buffer.concat(chunks.filter(({ name }) => name === 'IDAT').map(({ data }) => data)),
  );
  return { width, height, rgb: unfiltered(raw, width, height, channels) };
}

/** Undoes the filters of PNG (W3C Recommendation "Portable Network Graphics", section 9). */
function unfiltered(raw: Buffer, width: number, height: number, channels: number): Uint8Array {
  const row = width * channels;
  const bytes = new Uint8Array(row * height);
  const rgb = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (row + 1)]!;
    for (let x = 0; x < row; x++) {
      const at = y * row + x;
      const left = x >= channels ? bytes[at - channels]! : 0;
      const up = y > 0 ? bytes[at - row]! : 0;
      const upLeft = x >= channels && y > 0 ? bytes[at - row - channels]! : 0;
      const guess = [0, left, up, (left + up) >> 1, paeth(left, up, upLeft)][filter]!;
      bytes[at] = raw[y * (row + 1) + 1 + x]! + guess;
    }
  }
  for (let pixel = 0; pixel < width * height; pixel++)
    rgb.set(bytes.subarray(pixel * channels, pixel * channels + 3), pixel * 3);
  return rgb;
}

function paeth(left: number, up: number, upLeft: number): number {
  const guess = left + up - upLeft;
  const [a, b, c] = [Math.abs(guess - left), Math.abs(guess - up), Math.abs(guess - upLeft)];
  return a <= b && a <= c ? left : b <= c ? up : upLeft;
}

/** The part of the pixels, 0 to 1, that differ clearly; 1 for pictures of different size. */
export function difference(a: Picture, b: Picture): number {
  if (a.width !== b.width || a.height !== b.height) return 1;
  const pixels = a.width * a.height;
  let differ = 0;
  for (let pixel = 0; pixel < pixels; pixel++)
    if ([0, 1, 2].some((channel) => Math.abs(a.rgb[pixel * 3 + channel]! - b.rgb[pixel * 3 + channel]!) > 40))
      differ++;
  return differ / pixels;
}
