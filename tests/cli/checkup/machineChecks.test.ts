import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Machine, machineAt } from '../../../src/cli/checkup/machine.js';
import { machineChecks } from '../../../src/cli/checkup/machineChecks.js';

let root: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'stillwarm-machine-'));
});
afterEach(() => rmSync(root, { recursive: true }));

/** A file of the machine under `root`. */
function file(path: string, text = ''): void {
  mkdirSync(dirname(join(root, path)), { recursive: true });
  writeFileSync(join(root, path), text);
}
/** That machine: a synchronized Linux computer that does not sleep, but for what a test changes. */
const machine = (changes: Partial<Machine> = {}): Machine => ({
  ...machineAt(root),
  nodeVersion: '20.19.0',
  platform: 'linux',
  says: (program) => (program === 'timedatectl' ? 'yes' : 'masked'),
  ...changes,
});
const found = (changes: Partial<Machine> = {}) =>
  machineChecks(machine(changes)).map(({ check, state, says, cure }) =>
    `${check} ${state}: ${says} ${cure ?? ''}`.trim(),
  );

describe('machineChecks()', () => {
  it('finds nothing wrong with a computer that is fine', () => {
    file('/dev/ttyUSB0');
    file('/dev/tty1');
    expect(found()).toEqual([
      'node good: node 20.19.0 on linux.',
      'time good: the clock is synchronized.',
      'sleep good: this computer does not go to sleep.',
      'port good: /dev/ttyUSB0 may be opened.',
    ]);
  });

  it.each([
    ['20.18.9', 'bad'],
    ['20.19.0', 'good'],
    ['26.2.9', 'good'],
    ['26.3.0', 'bad'],
  ])('takes node %s for %s', (nodeVersion, state) => {
    expect(machineChecks(machine({ nodeVersion }))[0]!.state).toBe(state);
  });

  it('names ports on macOS as they open at once', () => {
    const mac = { platform: 'darwin' };
    expect(found(mac).at(-1)).toBe('port good: no serial board is plugged in.');
    // From memory: names that macOS gives.
    for (const name of ['tty.usbmodem1101', 'cu.usbmodem1101', 'tty.Bluetooth-Incoming-Port', 'ttys000'])
      file(`/dev/${name}`);
    expect(found(mac).filter((line) => line.startsWith('port'))).toEqual([
      'port good: /dev/cu.usbmodem1101 is there; name it so, and not /dev/tty.usbmodem1101, whose opening may wait for ever.',
    ]);
  });

  it('says that serial ports do not reach Linux inside Windows', () => {
    // As WSL 2 has it (learn.microsoft.com/windows/wsl, kernel release; from memory).
    file('/proc/version', 'Linux version 5.15.90.1-microsoft-standard-WSL2 (gcc 9.3.0)\n');
    expect(found().at(-1)).toMatch(/^port look: this is Linux inside Windows \(WSL\)/);
    file('/dev/ttyUSB0');
    expect(found().at(-1)).toBe('port good: /dev/ttyUSB0 may be opened.');
    rmSync(join(root, 'dev/ttyUSB0'));
    file('/proc/version', 'Linux version 6.1.0-18-amd64\n');
    expect(found().at(-1)).toBe('port good: no serial board is plugged in.');
  });

  it('names the group of a port that may not be opened, and the cure', () => {
    file('/dev/ttyACM3');
    file('/etc/group', 'root:x:0:\nserial:x:42:\n');
    const closed = { isOpen: () => false, groupOf: () => 42 };
    expect(found(closed)).toContain(
      'port bad: /dev/ttyACM3 may not be opened by this user. sudo usermod -aG serial "$USER", then log in again',
    );
    // Real permissions, where this user has to heed them.
    chmodSync(join(root, '/dev/ttyACM3'), 0);
    const isRoot = process.getuid?.() === 0;
    expect(machineAt(root).isOpen('/dev/ttyACM3')).toBe(isRoot);
    expect(machineAt(root).isOpen('/dev/absent')).toBe(false);
  });

  it('names services that take ports, and thermometers that others read', () => {
    file('/proc/77/comm', 'ModemManager\n');
    file('/proc/78/comm', 'sh\n');
    file('/sys/class/hwmon/hwmon3/name', 'w1_slave_temp\n');
    file('/sys/class/hwmon/hwmon4/name', 'coretemp\n');
    const looks = machineChecks(machine()).filter(({ state }) => state === 'look');
    expect(looks.map(({ check, cure }) => [check, cure])).toEqual([
      ['port', 'systemctl stop ModemManager'],
      ['1-Wire', 'stop monitoring programs that read /sys/class/hwmon for the day'],
    ]);
    expect(looks[1]!.says).toMatch(/^1 thermometer of/);
  });

  it('does not take silence for yes', () => {
    const states = machineChecks(machine({ says: () => null })).map(
      ({ check, state }) => `${check} ${state}`,
    );
    expect(states).toContain('time look');
    expect(states).toContain('sleep look');
  });
});
