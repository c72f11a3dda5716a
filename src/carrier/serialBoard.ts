import type { Clock } from '../units/clock.js';
import type { BoardId } from '../units/ids.js';
import { type DurationMs, seconds } from '../units/time.js';
import { BY_THE_LOGGER, type ByteWire, byteWire } from './byteWire.js';
import { type CarrierEvent, type LinkEvent, UNSAID } from './events.js';
import { type FoundPort, findBoard, NOTHING_HEARD, type PortAccess } from './findBoard.js';
import { openPort } from './openPort.js';
import { presentPorts } from './presentPorts.js';
import { readLines } from './readLines.js';
import type { CarrierSource } from './source.js';

export const BAUD_RATE = 38_400;
/** A board says something every second; after this long without a byte the port is opened anew. */
export const SILENCE_MAX: DurationMs = seconds(15);
/** After this long with bytes and without one good line a person is told. */
const GOOD_LINE_WITHIN: DurationMs = seconds(30);

const SYSTEM: PortAccess = {
  open: async (path) => byteWire(await openPort(path, BAUD_RATE)),
  present: presentPorts,
};

/**
 * Our board behind a serial port. The first opening must succeed (else a Refusal); after that a port that
 * goes away, falls silent or cannot be reopened is tried again for as long as the logger runs. Opening
 * resets most boards, so that each opening begins with a boot line and a new clock epoch. A board that comes
 * back on another port is known by the id it announces.
 */
export function serialBoard(path: string, clock: Clock, ports: PortAccess = SYSTEM): CarrierSource {
  let opened: ByteWire | null = null;
  let current: ByteWire | null = null;
  return {
    name: path,
    async open() {
      opened = await ports.open(path);
    },
    async run(onEvent, signal) {
      let board: BoardId | null = null;
      const hear = (event: CarrierEvent) => {
        if (event.kind === 'boot') board = event.board;
        onEvent(event);
      };
      let found: FoundPort = { at: path, wire: opened ?? (await ports.open(path)), heard: NOTHING_HEARD };
      /** Openings in a row that gave no good line, and what the first of them came to: said once. */
      let inVain = 0;
      let said: string | null = null;
      for (;;) {
        current = found.wire;
        const { at } = found;
        onEvent(link(clock, 'open', said === null ? `${at} is open` : UNSAID));
        const present = ports.present().catch((): string[] => []);
        let isHeard = false;
        const why = await readUntilClosed(found, clock, signal, (event) => {
          if (event.kind !== 'discarded' && event.kind !== 'link' && !isHeard) {
            isHeard = true;
            if (said !== null) onEvent(link(clock, 'note', `${at}: the board is heard again`));
          }
          hear(event);
        });
        current = null;
        inVain = isHeard ? 0 : inVain + 1;
        const isKnown = said === why && !isHeard;
        const goesOn = inVain === 1 && !signal.aborted ? '; tried again for as long as it takes' : '';
        onEvent(link(clock, 'closed', isKnown ? UNSAID : `${at}: ${why}${goesOn}`));
        said = isHeard ? null : why;
        const before = new Set((await present).filter((each) => each !== at));
        const again = await findBoard({ path, board, before, ports, clock, signal, inVain });
        if (again === null) return;
        found = again;
      }
    },
    // Lost while the connection is down.
    write: (line) => current?.write(line),
  };
}

const link = (clock: Clock, state: LinkEvent['state'], detail: string): LinkEvent => ({
  kind: 'link',
  arrival: { utc: clock.utc(), monotonic: clock.steady() },
  state,
  detail,
});

function readUntilClosed(
  { at, wire, heard }: FoundPort,
  clock: Clock,
  signal: AbortSignal,
  onEvent: (event: CarrierEvent) => void,
): Promise<string> {
  const opened = clock.monotonic();
  let lastByte = opened;
  let bytes = 0;
  /** A good line has come, or it has been said that none did. */
  let isSettled = false;
  let isOurEnd = false;
  const { input } = readLines(clock, (event) => {
    // A line that our own end cuts short is no damage.
    if (event.kind === 'discarded' && isOurEnd) return;
    if (event.kind !== 'discarded') isSettled = true;
    onEvent(event);
  });
  const take = (chunk: Uint8Array) => {
    lastByte = clock.monotonic();
    bytes += chunk.length;
    input.write(Buffer.from(chunk));
  };
  return new Promise((resolve) => {
    const stopWatching = clock.every(seconds(1), () => {
      const now = clock.monotonic();
      if (now - lastByte > SILENCE_MAX) wire.close('no data for 15 seconds');
      if (isSettled || bytes === 0 || now - opened <= GOOD_LINE_WITHIN) return;
      isSettled = true;
      const detail = `${at}: what comes is not from a board of ours (${bytes} bytes so far); is another device on that port?`;
      onEvent(link(clock, 'note', detail));
    });
    const aborted = () => wire.close(BY_THE_LOGGER);
    signal.addEventListener('abort', aborted, { once: true });
    heard().forEach(take);
    wire.onData(take);
    wire.onClosed((why) => {
      stopWatching();
      signal.removeEventListener('abort', aborted);
      isOurEnd = signal.aborted;
      input.end();
      resolve(why);
    });
    if (signal.aborted) aborted();
  });
}
