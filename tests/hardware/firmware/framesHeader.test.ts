import { expect, test } from 'vitest';
import { FRAMES_HEADER, framesHeader } from '../../tools/framesHeader.js';

// `-u` on the command line of vitest writes the file; without it this test compares.
test('`frames.h` holds the table of src/carrier/wire/frames.ts', async () => {
  await expect(framesHeader()).toMatchFileSnapshot(FRAMES_HEADER);
});
