import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { span } from '../../src/screen/line.js';
import { type Picture, sheetOn } from '../../src/screen/sheet.js';
import { canvas } from '../../src/screen/size.js';
import { fakeTerminal } from './terminals.js';

const SIZE = { columns: 80, rows: 24 };
const pictureOf = (update: number): Picture => ({
  lines: Array.from({ length: 23 }, (_, row) => [span(`row ${row}, update ${update}`)]),
  size: canvas(SIZE),
  colour: false,
  theme: 'shade',
});

/** Collects what nobody needs, and gives what is left, bytes. */
export function heldBytes(): number {
  setFlagsFromString('--expose-gc');
  runInNewContext('gc')();
  return process.memoryUsage().heapUsed;
}

/** Before this many the program is still being compiled. */
const WARMED_UP = 1000;

/**
 * Shows so many different pictures; gives by how much the memory that is held grew after the first thousand, and
 * whether the last was drawn.
 */
export async function soak(
  updates: number,
  keep: (shown: Picture) => void = () => {},
): Promise<{ grownBytes: number; drawn: boolean }> {
  const terminal = fakeTerminal(false, 10_000);
  const sheet = sheetOn(terminal.stdout);
  let held = Number.NaN;
  for (let update = 1; update <= updates; update += 1) {
    const shown = pictureOf(update);
    keep(shown);
    sheet.show(shown);
    // As in life, where a picture is drawn before the next comes.
    await new Promise((resolve) => setImmediate(resolve));
    if (update === WARMED_UP) held = heldBytes();
  }
  return {
    grownBytes: heldBytes() - held,
    drawn: terminal.written().includes(`row 22, update ${updates}`),
  };
}
