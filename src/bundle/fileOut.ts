import { createHash } from 'node:crypto';
import { closeSync, fsyncSync, mkdirSync, openSync, writeSync } from 'node:fs';
import { dirname, join } from 'node:path';

/** A file of a bundle as its manifest knows it. */
export interface Written {
  /** Below the bundle's folder, with slashes. */
  readonly path: string;
  readonly bytes: number;
  /** SHA-256, lower-case hex. */
  readonly hash: string;
}

const AT_ONCE = 1 << 20;

/** Writes files below a folder and remembers what they came to. */
export function filesOut(folder: string): {
  readonly written: readonly Written[];
  write(
    path: string,
    make: (add: (piece: string | Uint8Array) => void) => void | Promise<void>,
  ): Promise<Written>;
} {
  const written: Written[] = [];
  return {
    written,
    async write(path, make) {
      mkdirSync(dirname(join(folder, path)), { recursive: true });
      const file = openSync(join(folder, path), 'wx');
      try {
        const hash = createHash('sha256');
        let [bytes, waiting] = [0, ''];
        const put = (chunk: Uint8Array) => {
          hash.update(chunk);
          bytes += chunk.length;
          for (let at = 0; at < chunk.length; ) at += writeSync(file, chunk, at);
        };
        const flush = () => {
          put(Buffer.from(waiting, 'utf8'));
          waiting = '';
        };
        await make((piece) => {
          if (typeof piece !== 'string') return put(piece);
          waiting += piece;
          if (waiting.length >= AT_ONCE) flush();
        });
        flush();
        fsyncSync(file);
        const each = { path, bytes, hash: hash.digest('hex') };
        written.push(each);
        return each;
      } finally {
        closeSync(file);
      }
    },
  };
}
