import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, vi } from 'vitest';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const NOW = utcMs(1_790_000_000_000);
// statfs(2): NFS_SUPER_MAGIC 0x6969, EXT4_SUPER_MAGIC 0xef53. A network folder cannot be had in a test, only its number.
const [NFS, EXT4] = [0x6969, 0xef53];
let type: number;
vi.mock('node:fs', async (original) => {
  const real = await original<typeof import('node:fs')>();
  return { ...real, statfsSync: (path: string) => ({ ...real.statfsSync(path), type }) };
});

let folder: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  type = EXT4;
});

describe('openStoreToWrite() on a network folder', () => {
  it('makes no store there, and writes to none; one that is there can be read', () => {
    const path = join(folder, 'x.sqlite');
    type = NFS;
    expect(() => openStoreToWrite(path, NOW)).toThrow(/x\.sqlite lies on NFS, where a store gets damaged/);
    expect(existsSync(path)).toBe(false);
    // Negative control: on a disk of this computer.
    type = EXT4;
    openStoreToWrite(path, NOW).close();
    type = NFS;
    expect(() => openStoreToWrite(path, NOW)).toThrow(/lies on NFS/);
    const store = openStoreToRead(path);
    expect(store.facts()).toHaveLength(1);
    store.close();
  });
});
