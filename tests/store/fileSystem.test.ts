import { describe, expect, it } from 'vitest';
import { refuseSharedFolder, unsafeFileSystem } from '../../src/store/fileSystem.js';

// Numbers of file systems: statfs(2), Linux man-pages 6.03.
const [NFS, SMB2, V9FS, FUSE, EXT4, OVERLAY] = [
  0x6969, 0xfe534d42, 0x01021997, 0x65735546, 0xef53, 0x794c7630,
];

describe('refuseSharedFolder()', () => {
  it.each([NFS, SMB2, V9FS])('refuses a store on file system %d, in one sentence', (type) => {
    expect(() => refuseSharedFolder('/mnt/lab/season.sqlite', () => type)).toThrow(
      /^\/mnt\/lab\/season.sqlite lies on .*; keep it on a disk of this computer, and copy it with backup.$/,
    );
  });

  it.each([EXT4, OVERLAY, FUSE, null])(
    'takes %s, and a folder of which nothing is known (negative control)',
    (type) => {
      expect(() => refuseSharedFolder('season.sqlite', () => type)).not.toThrow();
    },
  );

  it('looks at the folder that the store is to lie in', () => {
    const looked: string[] = [];
    refuseSharedFolder('/var/lib/x/season.sqlite', (folder) => {
      looked.push(folder);
      return EXT4;
    });
    expect(looked).toEqual(['/var/lib/x']);
  });
});

describe('unsafeFileSystem()', () => {
  it('names what checkup warns of, a file system run by a program too', () => {
    expect([NFS, FUSE, EXT4].map(unsafeFileSystem)).toEqual(['NFS', 'a file system run by a program', null]);
  });
});
