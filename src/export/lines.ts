import { lineOf } from '../mirror/line.js';
import { pointOfReading } from '../mirror/points.js';
import { type Encoder, NOTHING } from './encoder.js';

/**
 * Rows in line protocol, as the mirror sends them: tags and fields of docs/mirror.md, uncorrected, times in milliseconds.
 * Readings that nobody can place in time are left out, for a point is nothing without a time.
 */
export const linesEncoder = (): Encoder => ({
  head: () => NOTHING,
  add: (rows) =>
    Buffer.from(
      rows
        .map(({ store, reading }) => {
          const point = pointOfReading(reading, store);
          return point === null ? '' : `${lineOf(point)}\n`;
        })
        .join(''),
    ),
  end: () => NOTHING,
});
