import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { committedHex } from '../../emulator/bench.js';
import { build, WHY_NO_BUILD } from './build.js';

const read = (path: string) =>
  readFileSync(new URL(`../../../hardware/firmware/${path}`, import.meta.url), 'utf8');

test('`image/stillwarm.hex.sha256` is the checksum of the committed image', () => {
  const sum = createHash('sha256').update(committedHex(), 'latin1').digest('hex');
  expect(read('image/stillwarm.hex.sha256')).toBe(`${sum}  stillwarm.hex\n`);
});

test('`make` builds the committed image byte for byte', ({ skip }) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  const { hex } = build();
  expect(hex).toBe(committedHex());
});

test('`make` builds other bytes from other settings (negative control)', ({ skip }) => {
  skip(WHY_NO_BUILD !== null, WHY_NO_BUILD ?? '');
  expect(build('SLOT_ERROR_US=1').hex).not.toBe(committedHex());
});
