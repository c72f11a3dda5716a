import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { storeNamed, storeWords } from '../../../src/cli/completion/storeWords.js';
import {
  loaded,
  probeAssigned,
  SEVEN,
  seated,
  storeInFolder,
  turned,
  visitOpened,
} from '../../screen/invented.js';

let folder: ReturnType<typeof storeInFolder>;
beforeEach(() => {
  folder = storeInFolder();
  folder.store.append(
    SEVEN,
    visitOpened(),
    probeAssigned('A', 2),
    loaded('260512-01', 1),
    seated('260512-01', 'A', 2, 2),
    loaded('260512-02', 3),
    turned('260512-02', 180),
  );
});
afterEach(() => folder.remove());

describe('storeWords()', () => {
  it('gives what a store knows, with what it is', () => {
    const words = (kind: Parameters<typeof storeWords>[1]) =>
      storeWords(folder.path, kind).map(({ text, about }) => `${text}: ${about}`);
    expect(words('visit')).toEqual(['sedge-12-1: yard sedge-12, open']);
    expect(words('cup')).toEqual(['260512-01: colony c01, in A:2', '260512-02: colony c01, turned']);
    expect(words('slot').map((line) => line.slice(0, 4))).toEqual(['A:2:']);
    expect(words('carrier')).toEqual(['A: ']);
    expect(words('probe')).toEqual([expect.stringMatching(/: A:2$/)]);
  });

  it('gives nothing, and makes nothing, where there is no store', () => {
    const missing = `${folder.path}.missing`;
    expect(storeWords(missing, 'cup')).toEqual([]);
    expect(existsSync(missing)).toBe(false);
    const other = join(folder.path, '..', 'notes.txt');
    writeFileSync(other, 'no store');
    expect(storeWords(other, 'cup')).toEqual([]);
  });
});

describe('storeNamed()', () => {
  it('takes the store that the line names, or the usual one', () => {
    expect(storeNamed(['cup', 'turn', '--store', 'x.sqlite', ''])).toBe('x.sqlite');
    expect(storeNamed(['cup', 'turn', ''])).toBe('stillwarm.sqlite');
  });
});
