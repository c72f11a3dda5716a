import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  realpathSync,
  rmdirSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { whyNot } from '../tools/debianPrograms.js';
import { PROGRAM, until } from './program.js';

/** The logger as a service: what it tells its manager, and the unit of docs/service under a systemd that was booted. */
const REPOSITORY = fileURLToPath(new URL('../..', import.meta.url));
const BOOT = fileURLToPath(new URL('bootSystemd.sh', import.meta.url));
const SYSTEMD = '/lib/systemd/systemd';

let folder: string;
let running: ChildProcess[];
eachInNewFolder((fresh) => {
  folder = fresh;
  running = [];
});
afterEach(async () => {
  for (const child of running) {
    child.kill('SIGKILL');
    if (child.exitCode === null && child.signalCode === null) await once(child, 'close');
  }
});
const started = (program: string, args: readonly string[], env = process.env): ChildProcess => {
  const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'pipe'], env });
  running.push(child);
  return child;
};
/** Prints what comes at a datagram socket; files that come along are closed, which is what their senders wait for. */
const LISTENER = `
import socket, sys
at = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
at.bind(sys.argv[1])
while True: print(at.recv(4096).decode())
`;

import { eachInNewFolder } from '../tools/newFolder.js';

/** A 1-Wire bus of this computer with nothing on it. */
function emptyBus(at: string): string {
  const devices = join(at, 'devices');
  mkdirSync(join(devices, 'w1_bus_master1'), { recursive: true });
  return devices;
}

describe.skipIf(whyNot('python3', 'systemd-analyze'))(`log with a manager's socket`, () => {
  it('says that it is ready, and that it lives for as long as it does', async () => {
    const socket = join(folder, 'notify');
    const listener = started('python3', ['-uc', LISTENER, socket]);
    let heard = '';
    listener.stdout!.on('data', (data: Buffer) => {
      heard += data.toString();
    });
    await until('the socket is there', () => existsSync(socket), 10);
    const logger = started(
      process.execPath,
      [PROGRAM, 'log', '--store', join(folder, 'x.sqlite'), '--one-wire', emptyBus(folder)],
      { ...process.env, NOTIFY_SOCKET: socket, WATCHDOG_USEC: '4000000' },
    );
    const fed = () => heard.split('WATCHDOG=1').length - 1;
    await until('it has said so three times', () => fed() >= 3, 60);
    expect(heard.split('READY=1')).toHaveLength(2);
    expect(heard).toContain('STATUS=logging');
    logger.kill('SIGTERM');
    await once(logger, 'close');
    expect(logger.exitCode).toBe(0);
  });
});

const groups = readFileSync('/proc/mounts', 'utf8')
  .split('\n')
  .find((line) => line.split(' ')[2] === 'cgroup2')
  ?.split(' ')[1];
/** A systemd can be booted by root where the container allows namespaces and control groups. */
function whyNoBoot(): string | null {
  const mayUnshare = () =>
    spawnSync('unshare', ['--mount', '--pid', '--cgroup', '--uts', '--ipc', '--fork', 'true']).status === 0;
  return groups !== undefined && existsSync(SYSTEMD) && process.getuid?.() === 0 && mayUnshare()
    ? null
    : 'needs root, systemd, namespaces and control groups (version 2)';
}

const noBoot = whyNoBoot();
describe.skipIf(noBoot)(`the unit under a systemd that was booted ${noBoot ?? ''}`, () => {
  let group: string;
  beforeEach(() => {
    group = join(groups!, `stillwarm-${process.pid}`);
    mkdirSync(group);
  });
  afterEach(async () => {
    // What systemd made below it, from the leaves up, once its processes are gone.
    const removed = (at: string): boolean => {
      for (const each of readdirSync(at, { withFileTypes: true }))
        if (each.isDirectory()) removed(join(at, each.name));
      try {
        rmdirSync(at);
      } catch {
        return false;
      }
      return true;
    };
    for (const child of running) {
      child.kill('SIGKILL');
      if (child.exitCode === null && child.signalCode === null) await once(child, 'close');
    }
    await until('its control group is empty', () => removed(group), 20);
  });

  /**
   * Boots with the unit as it stands, but for places, names and times; gives what systemd says of it.
   *
   * @param before done in the namespaces before systemd starts, by a shell
   */
  async function booted(change: (unit: string) => string = (unit) => unit, before = '') {
    const shared = join(folder, 'shared');
    mkdirSync(shared);
    emptyBus(shared);
    chmodSync(folder, 0o755);
    const path = join(folder, 'stillwarm.service');
    const unit = readFileSync(join(REPOSITORY, 'docs/service/stillwarm.service'), 'utf8')
      .replace('/usr/bin/node', '/opt/node/node')
      .replace(/--sources \S+/, '--one-wire /run/shared/devices')
      .replace(/^User=.*$/m, 'User=nobody')
      .replace(/^Group=.*$/m, 'Group=nogroup')
      .replace('WatchdogSec=120', 'WatchdogSec=8')
      .replace('RestartSec=30', 'RestartSec=1')
      .replace('[Service]', '[Service]\nStandardOutput=null\nStandardError=append:/run/shared/log');
    writeFileSync(path, change(unit));
    const node = dirname(realpathSync(process.execPath));
    started('unshare', [
      '--mount',
      '--fork',
      '--kill-child',
      'bash',
      BOOT,
      path,
      REPOSITORY,
      node,
      shared,
      group,
      before,
    ]);
    const pids = () =>
      spawnSync('pgrep', ['-f', `^${SYSTEMD} --system --unit=stillwarm.service`], { encoding: 'utf8' })
        .stdout.split('\n')
        .filter(
          (pid) =>
            pid !== '' && readFileSync(`/proc/${pid}/cgroup`, 'utf8').includes(`stillwarm-${process.pid}/`),
        );
    const pid = await until('systemd runs', () => pids()[0], 30);
    const inside = (...command: string[]) =>
      spawnSync('nsenter', ['-t', pid, '-m', '-p', ...command], { encoding: 'utf8' }).stdout;
    const state = () =>
      Object.fromEntries(
        inside('systemctl', 'show', 'stillwarm')
          .split('\n')
          .map((line) => [line.slice(0, line.indexOf('=')), line.slice(line.indexOf('=') + 1)]),
      ) as Record<string, string>;
    /** The state once all of `wanted` is so; systemd may be too busy to answer at times. */
    const stateIs = (wanted: (now: Record<string, string>) => boolean) =>
      until(
        'the state of the unit',
        () => {
          const now = state();
          return now['ActiveState'] !== undefined && wanted(now) && now;
        },
        90,
      );
    const words = () => (existsSync(join(shared, 'log')) ? readFileSync(join(shared, 'log'), 'utf8') : '');
    return { inside, stateIs, words };
  }

  it('is active once it logs, is let live while it lives, is started again when it hangs, and stops in order', async () => {
    const { inside, stateIs, words } = await booted();
    const heard = (now: Record<string, string>) => Number(now['WatchdogTimestampMonotonic']);
    const first = await stateIs((now) => now['ActiveState'] === 'active');
    expect(first).toMatchObject({ StatusText: 'logging', NRestarts: '0', User: 'nobody' });
    // Longer than it may be silent.
    const later = await stateIs((now) => heard(now) - heard(first) > 16_000_000);
    expect(later).toMatchObject({ ActiveState: 'active', NRestarts: '0' });

    inside('kill', '-STOP', first['MainPID']!);
    const again = await stateIs((now) => now['ActiveState'] === 'active' && now['NRestarts'] !== '0');
    expect(again['NRestarts']).toBe('1');
    expect(again['MainPID']).not.toBe(first['MainPID']);
    inside('systemctl', 'stop', 'stillwarm');
    const stopped = await stateIs((now) => now['ActiveState'] === 'inactive');
    expect(stopped).toMatchObject({ Result: 'success', ExecMainStatus: '0' });
    expect(words()).toContain('closed by the logger');
  });

  /** The disk of the store, a small one, as it stands when the computer starts. */
  const DISK = '/var/lib/stillwarm';
  const smallDisk = `mkdir ${DISK}; mount -t tmpfs -o size=1m,mode=2770 tmpfs ${DISK}; chown nobody:nogroup ${DISK}`;
  /** Given up when it is not started within this, and shorter than it is waited for. */
  const soonGivenUp = (unit: string) => unit.replace('TimeoutStartSec=300', 'TimeoutStartSec=6');

  it.each([
    [
      'full, and begins by itself',
      `${smallDisk}; cat /dev/zero > ${DISK}/films || true`,
      ['rm', `${DISK}/films`],
      { hindrance: /^nothing can be stored: .* the disk is full; make room\.$/, restarts: '0' },
    ],
    // What the unit sees of its disks is as it was when it started.
    [
      'read-only, and is started again when it takes writes',
      `${smallDisk}; mount -o remount,ro ${DISK}`,
      ['mount', '-o', 'remount,rw', DISK],
      { hindrance: /^nothing can be stored: .* check why its disk is read-only\.$/, restarts: '1' },
    ],
  ])('waits at its start for a disk that is %s', async (_, before, mend, { hindrance, restarts }) => {
    const { inside, stateIs, words } = await booted(soonGivenUp, before);
    const since = (now: Record<string, string>) =>
      Number(now['WatchdogTimestampMonotonic']) - Number(now['ExecMainStartTimestampMonotonic']);
    // Longer than it may take to start.
    const waits = await stateIs((now) => since(now) > 8_000_000);
    expect(waits).toMatchObject({
      ActiveState: 'active',
      NRestarts: '0',
      StatusText: expect.stringMatching(hindrance),
    });
    expect(words()).toContain('NOTHING CAN BE STORED, so logging has not begun');
    expect(words()).not.toContain('/run/shared/devices is there');
    inside(...mend);
    const logs = await stateIs((now) => now['StatusText'] === 'logging');
    expect(logs).toMatchObject({ ActiveState: 'active', NRestarts: restarts });
    expect(words()).toContain(
      restarts === '0'
        ? 'logging begins, after'
        : 'cannot be written, for its disk is mounted read-only for this service although it takes writes',
    );
  });

  it('is not taken for started when its word cannot get through (negative control)', async () => {
    const { stateIs } = await booted((unit) =>
      unit
        .replace('NotifyAccess=all', 'NotifyAccess=main')
        .replace('TimeoutStartSec=300', 'TimeoutStartSec=6'),
    );
    const givenUp = await stateIs((now) => now['NRestarts'] !== '0');
    expect(givenUp['ActiveState']).toBe('activating');
    expect(givenUp['StatusText'] ?? '').toBe('');
  });
});
