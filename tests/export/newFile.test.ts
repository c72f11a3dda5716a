import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { leftovers, newFile } from '../../src/export/newFile.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { refusalOf } from '../units/refusalOf.js';

let folder: string;
let path: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'readings.csv');
});

describe('newFile()', () => {
  it('gives a file its name when all of it is written', async () => {
    const seen: boolean[] = [];
    const made = await newFile(path, 7, async (write) => {
      await write(Buffer.from('one '));
      seen.push(existsSync(path), existsSync(`${path}.7.part`));
      await write(Buffer.from('two'));
      return 42;
    });
    expect(made).toBe(42);
    expect(seen).toEqual([false, true]);
    expect(readFileSync(path, 'utf8')).toBe('one two');
    expect(readdirSync(folder)).toEqual(['readings.csv']);
  });

  it('leaves nothing when it is broken off', async () => {
    const failing = newFile(path, 7, async (write) => {
      await write(Buffer.from('half'));
      throw new Error('broken off');
    });
    await expect(failing).rejects.toThrow('broken off');
    expect(readdirSync(folder)).toEqual([]);
  });

  it('overwrites nothing, also when the name is taken meanwhile', async () => {
    const taken = () =>
      newFile(path, 7, (write) => {
        writeFileSync(path, 'mine');
        return write(Buffer.from('other'));
      });
    expect(await refusalOf(taken(), folder)).toMatch(/readings\.csv exists, and nothing is overwritten/);
    expect(await refusalOf(taken(), folder)).toMatch(/readings\.csv exists, and nothing is overwritten/);
    expect(readFileSync(path, 'utf8')).toBe('mine');
    expect(readdirSync(folder)).toEqual(['readings.csv']);
  });

  it('says when the folder is not there', async () => {
    const nowhere = join(folder, 'none', 'x.csv');
    expect(
      await refusalOf(
        newFile(nowhere, 7, () => Promise.resolve()),
        folder,
      ),
    ).toMatch(/^none\/x\.csv cannot be written, its folder is not there/);
  });
});

describe('leftovers()', () => {
  it('names what a killed writer of that name left, not what one at work writes', () => {
    for (const name of [
      'readings.csv.12.part',
      'readings.csv.34.part',
      'readings.csv.x.part',
      'other.csv.12.part',
    ])
      writeFileSync(join(folder, name), '');
    mkdirSync(join(folder, 'sub'));
    expect(leftovers(path, (pid) => pid === 34)).toEqual([join(folder, 'readings.csv.12.part')]);
    expect(leftovers(join(folder, 'none', 'x'), () => false)).toEqual([]);
  });
});
