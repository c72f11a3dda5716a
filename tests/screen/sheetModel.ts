import { Writable } from 'node:stream';
import xterm from '@xterm/headless';
import type { Size } from '../../src/screen/size.js';

/** A terminal as people's are: it understands what is written to it. */
export interface TerminalModel {
  readonly stdout: Writable;
  /** What stands in it, row by row, without what is blank at the end of each. */
  rows(): Promise<string[]>;
  /** Everything that was written to it since the last call. */
  written(): string;
}

export function terminalModel({ columns, rows }: Size): TerminalModel {
  const terminal = new xterm.Terminal({ cols: columns, rows, allowProposedApi: true, logLevel: 'off' });
  let written = '';
  return {
    stdout: new Writable({
      decodeStrings: false,
      write(text: string, _encoding, done) {
        written += text;
        terminal.write(text);
        done();
      },
    }),
    async rows() {
      await new Promise<void>((resolve) => terminal.write('', resolve));
      return Array.from({ length: rows }, (_, row) =>
        terminal.buffer.active.getLine(row)!.translateToString().trimEnd(),
      );
    },
    written() {
      const all = written;
      written = '';
      return all;
    },
  };
}
