import { describe, expect, it } from 'vitest';
import { isOnlyHere, refuseSharedFolder, unsafeFileSystem } from '../../src/store/fileSystem.js';

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

describe('isOnlyHere()', () => {
  // In the form of the example in proc(5), Linux man-pages 6.03; options of the mount and of the file system as given.
  const line = (at: string, mount: string, fileSystem: string) =>
    `36 35 98:0 / ${at} ${mount},noatime master:1 - ext4 /dev/root ${fileSystem},errors=continue`;
  const root = line('/', 'rw', 'rw');

  it('knows a disk that takes writes and is mounted read-only', () => {
    expect(isOnlyHere([root, line('/var/lib', 'ro', 'rw')].join('\n'), '/var/lib/x')).toBe(true);
    expect(isOnlyHere([root, line('/var/my\\040lib', 'ro', 'rw')].join('\n'), '/var/my lib')).toBe(true);
  });

  it.each([
    ['a disk that takes no writes', [root, line('/var/lib', 'ro', 'ro')]],
    ['a disk with errors that was made read-only since', [root, line('/var/lib', 'rw', 'ro')]],
    ['a disk that is mounted for writing', [line('/', 'ro', 'rw'), line('/var/lib', 'rw', 'rw')]],
    ['one that was mounted for writing on top', [line('/var/lib', 'ro', 'rw'), line('/var/lib', 'rw', 'rw')]],
    ['a disk beside it', [root, line('/var/lib/xy', 'ro', 'rw'), line('/var/li', 'ro', 'rw')]],
    ['a computer that tells nothing', ['']],
  ])('takes %s for none (negative control)', (_, lines) => {
    expect(isOnlyHere(lines.join('\n'), '/var/lib/x')).toBe(false);
  });
});
