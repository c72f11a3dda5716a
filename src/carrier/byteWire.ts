import type { SerialPort } from 'serialport';

/** Why a source was closed, when nothing is wrong. */
export const BY_THE_LOGGER = 'closed by the logger';

/** An open serial line: bytes both ways until it is closed, for whatever reason. */
export interface ByteWire {
  onData(take: (bytes: Uint8Array) => void): void;
  /** Told once, with the reason in words. */
  onClosed(take: (why: string) => void): void;
  /** Lost when the line is closed. */
  write(bytes: Uint8Array | string): void;
  close(why: string): void;
}

/** Takes over a port that has just been opened. */
export function byteWire(port: SerialPort): ByteWire {
  let why = 'the connection was closed';
  let closed: string | null = null;
  const takers: ((why: string) => void)[] = [];
  port.on('error', (error) => {
    why = error.message;
  });
  port.once('close', (error?: { disconnected?: boolean }) => {
    closed = error?.disconnected ? 'the board was unplugged' : why;
    for (const take of takers) take(closed);
  });
  return {
    onData: (take) => void port.on('data', take),
    onClosed(take) {
      if (closed === null) takers.push(take);
      else take(closed);
    },
    write(bytes) {
      // What is written to a closed port would come out after it is opened again.
      if (port.isOpen)
        port.write(typeof bytes === 'string' ? Buffer.from(bytes, 'latin1') : Buffer.from(bytes));
    },
    close(reason) {
      why = reason;
      if (port.isOpen) port.close(() => {});
    },
  };
}
