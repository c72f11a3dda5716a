import { Transform } from 'node:stream';

const LF = 0x0a;

/**
 * Stands before the line parser, which buffers without bound: lets each line of at most `bytesMax` bytes
 * (its LF included) through whole, and of a longer one nothing. `onDropped` is told the length of each
 * dropped line when its end is reached, or of what was held when the stream ends without one.
 */
export function lineGuard(
  bytesMax: number,
  onDropped: (bytes: number, why: 'too-long' | 'unfinished') => void,
): Transform {
  let held: Buffer = Buffer.alloc(0);
  let dropped = 0;

  const take = (piece: Buffer): Buffer | null => {
    const ended = piece.at(-1) === LF;
    if (dropped > 0 || held.length + piece.length > bytesMax) {
      dropped += held.length + piece.length;
      held = Buffer.alloc(0);
      if (ended) {
        onDropped(dropped, 'too-long');
        dropped = 0;
      }
      return null;
    }
    held = held.length > 0 ? Buffer.concat([held, piece]) : piece;
    if (!ended) return null;
    const line = held;
    held = Buffer.alloc(0);
    return line;
  };

  return new Transform({
    transform(chunk: Buffer, _encoding, done) {
      for (let start = 0; start < chunk.length; ) {
        const at = chunk.indexOf(LF, start);
        const end = at < 0 ? chunk.length : at + 1;
        const line = take(chunk.subarray(start, end));
        if (line) this.push(line);
        start = end;
      }
      done();
    },
    flush(done) {
      if (dropped + held.length > 0)
        onDropped(dropped + held.length, dropped > 0 ? 'too-long' : 'unfinished');
      done();
    },
  });
}
