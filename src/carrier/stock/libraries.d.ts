/** What is used of two libraries that bring no types. */
declare module 'firmata-io' {
  import type { EventEmitter } from 'node:events';

  export interface Transport extends EventEmitter {
    write(bytes: Uint8Array): void;
  }
  export class Firmata extends EventEmitter {
    constructor(transport: Transport, options: object, callback: (error?: Error) => void);
    readonly isReady: boolean;
    readonly buffer: readonly number[];
    readonly firmware: {
      readonly name?: string;
      readonly version?: { readonly major: number; readonly minor: number };
    };
    readonly pins: readonly { readonly supportedModes: readonly number[]; readonly analogChannel: number }[];
    /** Pin numbers by analog channel. */
    readonly analogPins: readonly number[];
    readonly MODES: Readonly<Record<'ANALOG' | 'ONEWIRE', number>>;
    readonly RESOLUTION: { readonly ADC: number | null };
    readonly reportVersionTimeoutId: NodeJS.Timeout;
    /** Sends a message of seven-bit bytes. */
    sysexCommand(message: readonly number[]): void;
    sendOneWireConfig(pin: number, isParasitic: boolean): void;
  }
  const bind: { readonly Firmata: typeof Firmata };
  export default bind;
}

declare module 'johnny-five' {
  import type { EventEmitter } from 'node:events';
  import type { Firmata } from 'firmata-io';

  export class Board extends EventEmitter {
    constructor(options: { io: Firmata; repl: false; debug: false; sigint: false });
    io: Firmata | null;
    pinMode(pin: number, mode: number): this;
    analogRead(channel: number, onValue: (count: number) => void): this;
    samplingInterval(ms: number): this;
  }
  const five: { readonly Board: typeof Board };
  export default five;
}
