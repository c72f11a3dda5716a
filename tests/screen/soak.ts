import { performance } from 'node:perf_hooks';
import { canvas } from '../../src/screen/frame.js';
import { span } from '../../src/screen/line.js';
import type { ScreenProps } from '../../src/screen/Screen.js';
import { fakeTerminal, keyboard } from './terminals.js';

const SIZE = { columns: 80, rows: 24 };
const props = (update: number): ScreenProps => ({
  lines: Array.from({ length: 23 }, (_, row) => [span(`row ${row}, update ${update}`)]),
  size: canvas(SIZE),
  colour: false,
  keys: false,
  onKey: () => {},
});

/**
 * Shows so many different pictures with whichever build of react NODE_ENV chooses in this process; gives how many
 * performance entries were kept meanwhile (each is memory that nobody frees) and whether the last was drawn.
 */
export async function soak(updates: number): Promise<{ entries: number; drawn: boolean }> {
  // The test runner's console lacks this method of a real one; without it no build of react measures anything.
  Object.assign(globalThis.console, { timeStamp: () => {} });
  const { mount } = await import('../../src/screen/mount.js');
  const terminal = fakeTerminal(false);
  const before = performance.getEntries().length;
  const screen = mount(keyboard(false), terminal.stdout, props(0));
  for (let update = 1; update <= updates; update += 1) {
    screen.show(props(update));
    if (update % 100 === 0) await new Promise((resolve) => setImmediate(resolve));
  }
  await screen.unmount();
  return {
    entries: performance.getEntries().length - before,
    drawn: terminal.written().includes(`row 22, update ${updates}`),
  };
}
