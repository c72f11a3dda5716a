import { PassThrough, Writable } from 'node:stream';

/** A keyboard that a test types on. */
export function keyboard(isTTY: boolean): NodeJS.ReadStream & PassThrough {
  const stream = new PassThrough();
  return Object.assign(stream, {
    isTTY,
    isRaw: false,
    setRawMode(raw: boolean) {
      stream.emit('raw', raw);
      return stream;
    },
    ref: () => stream,
    unref: () => stream,
  }) as unknown as NodeJS.ReadStream & PassThrough;
}

export interface FakeTerminal {
  readonly stdout: NodeJS.WriteStream;
  written(): string;
  resize(columns: number, rows: number): void;
  /** From now on every write fails. */
  breakWith(code: string): void;
}

/** A terminal that remembers what was written to it: all of it, or so many characters of its end. */
export function fakeTerminal(isTTY = true, remembers = Number.POSITIVE_INFINITY): FakeTerminal {
  let written = '';
  let broken: string | null = null;
  const stream = new Writable({
    autoDestroy: false,
    decodeStrings: false,
    write(chunk: string | Buffer, _encoding, done) {
      if (broken !== null) return done(Object.assign(new Error(`write ${broken}`), { code: broken }));
      written += chunk.toString();
      if (written.length > 2 * remembers) written = written.slice(-remembers);
      done();
    },
  });
  const stdout = Object.assign(stream, { isTTY, columns: 80, rows: 24 }) as unknown as NodeJS.WriteStream;
  return {
    stdout,
    written: () => written,
    resize(columns, rows) {
      Object.assign(stdout, { columns, rows });
      stdout.emit('resize');
    },
    breakWith(code) {
      broken = code;
    },
  };
}
