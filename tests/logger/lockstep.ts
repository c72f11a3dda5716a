import { firmwareImage } from '../../src/carrier/emulated/firmwareImage.js';
import type { CarrierEvent } from '../../src/carrier/events.js';
import { readLines } from '../../src/carrier/readLines.js';
import { EmulatedBoard } from '../../src/emulator/board.js';
import { ClockChip } from '../../src/emulator/clockChip.js';
import { I2cBus } from '../../src/emulator/i2cBus.js';
import { loadImage } from '../../src/emulator/image.js';
import { OneWireBus } from '../../src/emulator/oneWireBus.js';
import { MEMORY_ADDRESS, SerialMemory } from '../../src/emulator/serialMemory.js';
import { Thermometer } from '../../src/emulator/thermometer.js';
import { type Attendant, attend } from '../../src/logger/attend.js';
import { recorder } from '../../src/logger/recorder.js';
import type { Recording } from '../../src/logger/recordTo.js';
import type { Store } from '../../src/store/store.js';
import type { CarrierId, RomId } from '../../src/units/ids.js';
import { type MonotonicMs, monotonicMs, type UtcMs, utcMs } from '../../src/units/time.js';

/** One byte at 38400 baud. */
const BYTE_MS = 10 / 38.4;
const STEP_MS = 250;

export interface LockstepOptions {
  /** Intel HEX; the committed image when absent. */
  readonly image?: string;
  readonly start: UtcMs;
  readonly roms: readonly RomId[];
  readonly temperature: (rom: RomId, ms: number) => number;
  /** Leads that are loose for a while. */
  readonly faults?: readonly {
    readonly kind: 'loose-lead';
    readonly rom: RomId;
    readonly fromMs: number;
    readonly toMs: number;
  }[];
  readonly crystalPpm?: number;
  /** The clock chip had lost its time. */
  readonly clockHadStopped?: boolean;
  readonly withoutClock?: boolean;
  /** The clock chip runs and is behind by so much. */
  readonly clockBehindMs?: number;
  readonly withoutMemory?: boolean;
  /** When the memory does not answer. */
  readonly mute?: readonly { readonly fromMs: number; readonly toMs: number }[];
}

/** A board with memory and clock chip under the real image, and hosts that come and go, all in simulated time. */
export class Lockstep {
  readonly board: EmulatedBoard;
  readonly clock: ClockChip;
  readonly #memory = new SerialMemory({});
  readonly heard: CarrierEvent[] = [];
  readonly #options: LockstepOptions;
  /** How far the clock of a computer is off that is plugged in from now on. */
  hostOffMs = 0;
  #now = 0;
  #host: { attendant: Attendant; input: NodeJS.WritableStream } | null = null;
  #sent: { atMs: number; byte: number }[] = [];
  #toBoard: number[] = [];

  constructor(options: LockstepOptions) {
    this.#options = options;
    this.clock = new ClockChip({
      utcSeconds: (options.start - (options.clockBehindMs ?? 0)) / 1000,
      hadStopped: options.clockHadStopped ?? false,
    });
    this.board = new EmulatedBoard({
      image: loadImage(options.image ?? firmwareImage()),
      crystalPpm: options.crystalPpm ?? 0,
      bus: new OneWireBus({
        thermometers: options.roms.map(
          (rom) => new Thermometer({ rom, temperatureAt: (ms) => options.temperature(rom, ms) as never }),
        ),
        faults: options.faults ?? [],
      }),
      i2c: new I2cBus({
        chips: [
          ...(options.withoutMemory ? [] : [this.#memory]),
          ...(options.withoutClock ? [] : [this.clock]),
        ],
        faults: (options.mute ?? []).map((each) => ({ kind: 'absent', address: MEMORY_ADDRESS, ...each })),
      }),
      onByte: (byte, atMs) => this.#sent.push({ atMs, byte }),
    });
  }

  get ms(): number {
    return this.#now;
  }
  utc(): UtcMs {
    return utcMs(Math.round(this.#options.start + this.#now));
  }
  monotonic(): MonotonicMs {
    return monotonicMs(this.#now);
  }

  /** A host opens the port, which resets the board as most boards are. */
  plugIn(
    store: Store,
    carrier: CarrierId,
    options: {
      reset: boolean;
      withOpenPage: boolean;
      recording?: Recording;
      say?: (sentence: string) => void;
    },
  ): Attendant {
    if (options.reset) this.board.reset('external');
    this.#sent = [];
    const off = this.hostOffMs;
    const clock = {
      utc: () => utcMs(this.utc() + off),
      monotonic: () => this.monotonic(),
      steady: () => this.monotonic(),
    };
    const anchor = { utc: clock.utc(), monotonic: this.monotonic() };
    const plain = recorder(store, anchor, carrier, options.say ?? (() => {}));
    const attendant = attend({
      store,
      writer: options.recording?.of(plain, { name: 'the board', carrier, anchor }) ?? plain,
      clock,
      write: (line) => this.#toBoard.push(...Buffer.from(line, 'latin1')),
      withOpenPage: options.withOpenPage,
    });
    const { input } = readLines(clock, (event) => {
      this.heard.push(event);
      attendant.hear([event]);
    });
    this.#host = { attendant, input };
    attendant.hear([
      {
        kind: 'link',
        arrival: { utc: this.utc(), monotonic: this.monotonic() },
        state: 'open',
        detail: 'open',
      },
    ]);
    return attendant;
  }

  /** The host is gone in the middle of whatever it did. */
  unplug(): void {
    this.#host = null;
    this.#toBoard = [];
  }

  /** The cable comes off, and the host notices. */
  comeOff(): void {
    this.#host?.attendant.hear([
      {
        kind: 'link',
        arrival: { utc: this.utc(), monotonic: this.monotonic() },
        state: 'closed',
        detail: 'the device is gone',
      },
    ]);
    // A logger goes on speaking ten times a second, and what it has is read part by part.
    for (let time = 0; time < 100; time += 1) this.#host?.attendant.speak();
    this.unplug();
  }

  /** What the memory holds now. */
  memory(): Uint8Array {
    return this.#memory.bytes.slice();
  }

  /** Gives the running board a memory that holds this. */
  swapMemory(bytes: Uint8Array): void {
    this.#memory.bytes.set(bytes);
  }

  /** Switched off, given an empty memory, and switched on. */
  replaceMemory(): void {
    this.#memory.bytes.fill(0xff);
    this.board.reset('power-on');
  }

  /** Runs until a moment, or until `isEnough`. */
  async run(untilMs: number, isEnough: () => boolean = () => false): Promise<void> {
    while (this.#now < untilMs && !isEnough()) {
      const until = this.#host === null ? untilMs : Math.min(untilMs, this.#now + STEP_MS);
      for (let at = this.#now; this.#toBoard.length > 0 && at + BYTE_MS <= until; ) {
        at += BYTE_MS;
        this.board.run(at);
        this.board.receive(this.#toBoard.shift()!);
      }
      this.board.run(until);
      const sent = this.#sent;
      this.#sent = [];
      if (this.#host === null) {
        this.#now = until;
        continue;
      }
      let from = 0;
      for (let index = 0; index < sent.length; index += 1) {
        if (sent[index]!.byte !== 0x0a && index < sent.length - 1) continue;
        this.#now = sent[index]!.atMs;
        const bytes = Uint8Array.from(sent.slice(from, index + 1).map(({ byte }) => byte));
        from = index + 1;
        await new Promise<void>((resolve) => this.#host!.input.write(bytes, () => resolve()));
      }
      this.#now = until;
      this.#host.attendant.speak();
    }
  }
}
