import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';

const RULES = readFileSync('docs/service/70-stillwarm.rules', 'utf8');
/** A serial port that most computers have, plugged in or not. */
const PORT = 'ttyS0';

/** Reads rules and nothing else, in folders of its own, and tells of a port being plugged in. $1 rules, $2 port. */
const TELL = `
mount --make-rprivate /
read -r major minor < <(tr ':' ' ' < "/sys/class/tty/$2/dev")
for at in /run /etc/udev /usr/lib/udev/rules.d /dev; do mount -t tmpfs tmpfs $at; done
mkdir /etc/udev/rules.d
mknod "/dev/$2" c "$major" "$minor"; mknod /dev/null c 1 3; mknod /dev/urandom c 1 9
cp "$1" /etc/udev/rules.d/70-stillwarm.rules
udevadm test --action=add "/sys/class/tty/$2" 2>&1
stat -c 'node %A %G' "/dev/$2"
readlink -f /dev/stillwarm/*
`;

function whyNoUdev(): string | null {
  const why = whyNot('udevadm');
  if (why !== null) return why;
  if (!existsSync(`/sys/class/tty/${PORT}`)) return `needs the port ${PORT}`;
  return spawnSync('unshare', ['--mount', 'true']).status === 0 ? null : 'needs root';
}

/** What udev makes of the rules when the port is plugged in. */
function told(rules: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-udev-'));
  try {
    const path = join(folder, 'rules');
    writeFileSync(path, rules);
    return spawnSync('unshare', ['--mount', 'bash', '-c', TELL, 'tell', path, PORT], { encoding: 'utf8' })
      .stdout;
  } finally {
    rmSync(folder, { recursive: true });
  }
}
/** As if the port were a converter with these ids, in that place. */
const matching = (ids: string) =>
  RULES.replace(
    new RegExp(`^SUBSYSTEMS=="usb".*${ids}.*$`, 'm'),
    `KERNEL=="${PORT}", ENV{ID_PATH}="pci-0-usb-1", GOTO="stillwarm_board"`,
  );

const why = whyNoUdev();
describe.skipIf(why)(`the udev rules ${why ?? ''}`, () => {
  it('are read by udev without a complaint, and leave other ports alone', () => {
    const said = told(RULES);
    expect(said).toContain('Reading rules file: /etc/udev/rules.d/70-stillwarm.rules');
    expect(said).not.toMatch(/70-stillwarm.rules:\d+/);
    expect(said).not.toContain('ID_MM');
  });

  it.each(['0403', '1a86', '10c4', '2341'])('give a board with a converter %s its group and name', (ids) => {
    const said = told(matching(ids));
    expect(said).toMatch(/^ID_MM_DEVICE_IGNORE=1$/m);
    expect(said).toMatch(/^ID_MM_PORT_IGNORE=1$/m);
    expect(said).toMatch(/^DEVLINKS=.*\/dev\/stillwarm\/pci-0-usb-1/m);
    expect(said).toContain('node crw-rw---- dialout');
    expect(said).toContain(`/dev/${PORT}`);
  });

  it('are found out when they are wrong (negative control)', () => {
    expect(told(RULES.replace('GROUP="dialout"', 'GROUPS="dialout"'))).toMatch(
      /70-stillwarm.rules:\d+ Invalid key/,
    );
  });
});
