import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { onTerminalWith } from './onTerminal.js';
import { inFolder, stillwarm } from './program.js';

describe('a refusal', () => {
  it.skipIf(whyNot('socat'))('is broken between words on a terminal, however wide, and whole in a pipe', () =>
    inFolder(async (folder) => {
      const store = join(folder, 'x');
      writeFileSync(store, '');
      const args = ['play', '--store', store];
      const piped = await stillwarm(...args);
      expect(piped.code).toBe(1);
      const sentence = piped.err.trimEnd();
      expect(sentence.split('\n')).toHaveLength(1);
      // Longer than both terminals, or they would show nothing.
      expect(sentence.length).toBeGreaterThan(80);
      for (const columns of [80, 50]) {
        const terminal = onTerminalWith({ TERM: 'xterm', columns }, folder, ...args);
        expect(await terminal.ended()).toBe(1);
        const shown = terminal.shown().replace(/code=1\s*$/, '');
        const lines = shown.trimEnd().split('\r\n');
        expect(lines.length).toBeGreaterThan(1);
        expect(lines.map((line) => line.trim()).join(' ')).toBe(sentence);
        for (const line of lines) expect(line.length).toBeLessThan(columns);
      }
    }),
  );
});
