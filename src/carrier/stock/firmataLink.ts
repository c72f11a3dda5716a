import { EventEmitter } from 'node:events';
import bindFirmata, { type Firmata } from 'firmata-io';
import five, { type Board } from 'johnny-five';
import type { Clock } from '../../units/clock.js';
import { type DurationMs, type MonotonicMs, seconds } from '../../units/time.js';
import type { ByteWire } from '../byteWire.js';

/** A stock board may spend ten seconds in its bootloader. */
const READY_WITHIN: DurationMs = seconds(20);
/** The library waits for a message's end for ever; none that it is sent is as long as this. */
const MESSAGE_BYTES_MAX = 4096;

/** A stock board that has said what it is. */
export interface FirmataLink {
  readonly io: Firmata;
  readonly board: Board;
  /** When a byte last came. */
  lastByte(): MonotonicMs;
  /** Whether it has restarted and nothing was done about it yet. */
  wasRestarted(): boolean;
  /** The same, and takes note of it. */
  hasRestarted(): boolean;
  /** Lets go of the libraries; the wire is closed already. */
  release(): void;
}

/**
 * Brings the libraries together over an open wire and waits until the board has told its firmware and its pins. Null
 * when the wire was closed meanwhile; a board that does not speak is closed with the reason.
 *
 * @param gone aborted when the wire is closed
 */
export async function firmataLink(
  wire: ByteWire,
  clock: Clock,
  gone: AbortSignal,
): Promise<FirmataLink | null> {
  const transport = Object.assign(new EventEmitter(), { write: (bytes: Uint8Array) => wire.write(bytes) });
  const ready = new AbortController();
  let lastByte = clock.monotonic();
  let bytes = 0;
  let isRestarted = false;
  const io = new bindFirmata.Firmata(transport, {}, () => ready.abort());
  io.on('error', (error: Error) => wire.close(error.message));
  const board = new five.Board({ io, repl: false, debug: false, sigint: false });
  board.on('error', () => {});
  // The wire is open already; the one library tells the other when it is ready.
  io.once('ready', () => io.emit('connect'));
  wire.onData((chunk) => {
    lastByte = clock.monotonic();
    bytes += chunk.length;
    try {
      transport.emit('data', chunk);
    } catch (error) {
      wire.close(`sent what cannot be read (${(error as Error).message})`);
    }
    if (io.buffer.length > MESSAGE_BYTES_MAX) wire.close('sent a message without an end');
  });
  const release = () => {
    clearTimeout(io.reportVersionTimeoutId);
    io.removeAllListeners();
    board.removeAllListeners();
    // The library keeps every board it ever made.
    board.io = null;
  };

  await clock.sleep(READY_WITHIN, AbortSignal.any([ready.signal, gone]));
  if (gone.aborted || !io.isReady) {
    if (!gone.aborted)
      wire.close(
        bytes === 0
          ? 'says nothing'
          : `does not speak Firmata: ${bytes} bytes came that are something else; is it another device?`,
      );
    release();
    return null;
  }
  // A board says its version by itself when it has restarted, and never else.
  io.on('reportversion', () => {
    isRestarted = true;
  });
  return {
    io,
    board,
    lastByte: () => lastByte,
    wasRestarted: () => isRestarted,
    hasRestarted() {
      const was = isRestarted;
      isRestarted = false;
      return was;
    },
    release,
  };
}
