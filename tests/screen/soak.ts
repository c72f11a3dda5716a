import { performance } from 'node:perf_hooks';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { span } from '../../src/screen/line.js';
import type { ScreenProps } from '../../src/screen/Screen.js';
import { canvas } from '../../src/screen/size.js';
import { fakeTerminal, keyboard } from './terminals.js';

const SIZE = { columns: 80, rows: 24 };
const props = (update: number): ScreenProps => ({
  lines: Array.from({ length: 23 }, (_, row) => [span(`row ${row}, update ${update}`)]),
  size: canvas(SIZE),
  colour: false,
  keys: false,
  onKey: () => {},
});

/** Collects what nobody needs, and gives what is left, bytes. */
function heldBytes(): number {
  setFlagsFromString('--expose-gc');
  runInNewContext('gc')();
  return process.memoryUsage().heapUsed;
}

/** Before this many the program is still being compiled. */
const WARMED_UP = 1000;

/**
 * Shows so many different pictures with whichever build of react NODE_ENV chooses in this process; gives how many
 * performance entries were kept meanwhile (each is memory that nobody frees), by how much the memory that is held grew
 * after the first thousand, and whether the last was drawn.
 */
export async function soak(
  updates: number,
  keep: (shown: ScreenProps) => void = () => {},
): Promise<{ entries: number; grownBytes: number; drawn: boolean }> {
  // The test runner's console lacks this method of a real one; without it no build of react measures anything.
  Object.assign(globalThis.console, { timeStamp: () => {} });
  const { mount } = await import('../../src/screen/mount.js');
  const terminal = fakeTerminal(false, 10_000);
  const before = performance.getEntries().length;
  const screen = mount(keyboard(false), terminal.stdout, props(0));
  let held = Number.NaN;
  for (let update = 1; update <= updates; update += 1) {
    const shown = props(update);
    keep(shown);
    screen.show(shown);
    // As in life, where a picture is drawn before the next comes.
    await new Promise((resolve) => setImmediate(resolve));
    if (update === WARMED_UP) held = heldBytes();
  }
  const grownBytes = heldBytes() - held;
  await screen.unmount();
  return {
    entries: performance.getEntries().length - before,
    grownBytes,
    drawn: terminal.written().includes(`row 22, update ${updates}`),
  };
}
