import type { ByteWire } from '../../src/carrier/byteWire.js';
import type { PortAccess } from '../../src/carrier/findBoard.js';
import { durationMs } from '../../src/units/time.js';
import type { VirtualClock } from './host/virtualClock.js';
import { BOARD, framed } from './wire/lines.js';

/** The far end of a port that was opened. */
export interface End {
  readonly say: (text: string) => void;
  readonly unplug: () => void;
  /** What was written to it. */
  readonly heard: string[];
  readonly isOpen: () => boolean;
}

/** Serial ports of a computer that is not there: what is plugged in talks when its port is opened. */
export class FakePorts {
  readonly #clock: VirtualClock;
  readonly #plugged = new Map<string, (end: End) => void>();
  readonly ends = new Map<string, End>();
  readonly openings: { path: string; at: number }[] = [];
  constructor(clock: VirtualClock) {
    this.#clock = clock;
  }
  plugIn(path: string, talk: (end: End) => unknown): void {
    this.#plugged.set(path, (end) => void talk(end));
  }
  unplug(path: string): void {
    this.#plugged.delete(path);
    this.ends.get(path)?.unplug();
  }
  readonly access: PortAccess = {
    open: (path) => this.#open(path),
    present: () => Promise.resolve([...this.#plugged.keys()]),
  };

  #open(path: string): Promise<ByteWire> {
    this.openings.push({ path, at: this.#clock.monotonic() });
    const talk = this.#plugged.get(path);
    // A port that is open is locked.
    if (talk === undefined || this.ends.get(path)?.isOpen()) return Promise.reject(new Error('no such file'));
    const data: ((bytes: Uint8Array) => void)[] = [];
    const closed: ((why: string) => void)[] = [];
    let isOpen = true;
    const close = (why: string) => {
      if (!isOpen) return;
      isOpen = false;
      for (const take of closed) take(why);
    };
    const end: End = {
      say: (text) => {
        if (isOpen) for (const take of data) take(Buffer.from(text, 'latin1'));
      },
      unplug: () => close('the board was unplugged'),
      heard: [],
      isOpen: () => isOpen,
    };
    this.ends.set(path, end);
    queueMicrotask(() => talk(end));
    return Promise.resolve({
      onData: (take) => void data.push(take),
      onClosed: (take) => void closed.push(take),
      write: (bytes) => void end.heard.push(bytes.toString()),
      close,
    });
  }
}

/** A board of ours that restarts when its port is opened: a boot line, then a heartbeat every second; with a probe also scans. */
export const talkingBoard =
  (
    clock: VirtualClock,
    { id = BOARD, boot = 1, startsAfterMs = 500, rom = null as string | null, sixteenths = 400 } = {},
  ) =>
  async (end: End): Promise<void> => {
    let sequence = 0;
    const say = (kind: string, boardMs: number, ...fields: string[]) => {
      end.say(`\r\n${framed(kind, boot, sequence, boardMs, ...fields)}\r\n`);
      sequence += 1;
    };
    await clock.sleep(durationMs(startsAfterMs));
    say('B', 12, '01', '0.1.0', id, 'P', 'A');
    if (rom !== null) say('P', 20, '01', '01', `0.${rom.replaceAll('-', '')}`);
    for (let second = 1; end.isOpen(); second += 1) {
      say('H', second * 1000);
      const scan = second.toString(16).toUpperCase().padStart(8, '0');
      const raw = sixteenths.toString(16).toUpperCase().padStart(4, '0');
      if (rom !== null && second % 10 === 0) say('S', second * 1000 - 900, '01', scan, `0+${raw}`);
      await clock.sleep(durationMs(1000));
    }
  };
