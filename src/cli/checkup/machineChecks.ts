import { openName } from '../../carrier/portName.js';
import { keeperFor } from '../../logger/awake.js';
import { bad, type Finding, good, look } from './finding.js';
import type { Machine } from './machine.js';

/** The versions of node that package.json allows. */
const NODE_MIN = [20, 19] as const;
const NODE_BELOW = [26, 3] as const;

/** Services that open serial ports as soon as they appear, by the name of their process. */
const PORT_TAKERS: Readonly<Record<string, string>> = {
  ModemManager: 'systemctl stop ModemManager',
  brltty: 'apt-get remove brltty, or systemctl mask brltty-udev',
};

/** The computer itself: node, clock, sleep, serial ports, its own 1-Wire bus. */
export function machineChecks(machine: Machine): Finding[] {
  return [node(machine), clock(machine), sleep(machine), ...ports(machine), ...oneWire(machine)];
}

function node({ nodeVersion, platform }: Machine): Finding {
  const [major = 0, minor = 0] = nodeVersion.split('.').map(Number);
  const isBefore = ([toMajor, toMinor]: readonly [number, number]) =>
    major < toMajor || (major === toMajor && minor < toMinor);
  const says = `node ${nodeVersion} on ${platform}`;
  if (isBefore(NODE_MIN) || !isBefore(NODE_BELOW))
    return bad(
      'node',
      `${says} is not supported.`,
      `use node ${NODE_MIN.join('.')} or later, below ${NODE_BELOW.join('.')}`,
    );
  return platform === 'linux'
    ? good('node', `${says}.`)
    : look('node', `${says}: only Linux is tested.`, 'try a day in the yard behind the lab first');
}

function clock(machine: Machine): Finding {
  const synchronized = machine.says('timedatectl', 'show', '--property=NTPSynchronized', '--value');
  if (synchronized === 'yes') return good('time', 'the clock is synchronized.');
  return look(
    'time',
    synchronized === 'no' ? 'the clock is not synchronized.' : 'nothing tells whether the clock is right.',
    'compare it with a telephone before the first cup; rulings do not depend on it, labels do',
  );
}

function sleep(machine: Machine): Finding {
  const keeper = keeperFor(machine.platform, 0);
  if (keeper === null)
    return look('sleep', 'nothing here keeps this computer awake.', 'switch off sleep for the day');
  if (machine.platform === 'darwin')
    return look(
      'sleep',
      'this computer is kept awake while cups are loaded, but not with its lid shut.',
      'leave the lid open and the power on',
    );
  const target = machine.says('systemctl', 'show', '--property=LoadState', '--value', 'sleep.target');
  if (target === 'masked') return good('sleep', 'this computer does not go to sleep.');
  const [program, ...args] = keeper;
  // Asked the way the logger asks, and let go at once.
  if (machine.says(program, ...args.slice(0, -1), 'true') !== null)
    return good('sleep', '`log` may keep this computer awake while cups are loaded.');
  return look(
    'sleep',
    'this computer may go to sleep, and logs nothing then; `log` cannot keep it awake. Boards keep their scans.',
    'systemctl mask sleep.target for the day, or leave the lid open and the power on',
  );
}

function ports(machine: Machine): Finding[] {
  if (machine.platform === 'darwin') return portsOfMac(machine);
  if (machine.platform !== 'linux') return [];
  const paths = machine
    .names('/dev')
    .filter((name) => /^tty(USB|ACM)\d+$/.test(name))
    .map((name) => `/dev/${name}`);
  const findings = paths.map((path) => {
    if (machine.isOpen(path)) return good('port', `${path} may be opened.`);
    const group = groupName(machine, machine.groupOf(path));
    return bad(
      'port',
      `${path} may not be opened by this user.`,
      group === null ? 'change its permissions' : `sudo usermod -aG ${group} "$USER", then log in again`,
    );
  });
  if (paths.length === 0)
    findings.push(
      /microsoft/i.test(machine.text('/proc/version') ?? '')
        ? look(
            'port',
            'this is Linux inside Windows (WSL), which serial ports do not reach by themselves.',
            'run stillwarm on Windows itself, or hand the board over with usbipd',
          )
        : good('port', 'no serial board is plugged in.'),
    );
  return [...findings, ...takers(machine)];
}

/** Ports that adapters and boards on USB get there (from memory; nothing was tried on macOS). */
function portsOfMac(machine: Machine): Finding[] {
  const paths = machine
    .names('/dev')
    .filter((name) => /^tty\..*usb/i.test(name))
    .map((name) => `/dev/${name}`);
  if (paths.length === 0) return [good('port', 'no serial board is plugged in.')];
  return paths.map((path) =>
    good(
      'port',
      `${openName(path, machine.platform)} is there; name it so, and not ${path}, whose opening may wait for ever.`,
    ),
  );
}

function groupName(machine: Machine, id: number | null): string | null {
  const line = machine
    .text('/etc/group')
    ?.split('\n')
    .find((each) => Number(each.split(':')[2] || Number.NaN) === id);
  return line?.split(':')[0] ?? null;
}

function takers(machine: Machine): Finding[] {
  const running = new Set(
    machine
      .names('/proc')
      .filter((name) => /^\d+$/.test(name))
      .map((pid) => machine.text(`/proc/${pid}/comm`)?.trim()),
  );
  return Object.entries(PORT_TAKERS)
    .filter(([name]) => running.has(name))
    .map(([name, cure]) =>
      look(
        'port',
        `${name} is running and talks to serial ports that appear; boards bear it, and may be reset by it.`,
        cure,
      ),
    );
}

/** Monitoring programs read thermometers through hwmon and disturb conversions that are under way. */
function oneWire(machine: Machine): Finding[] {
  const taken = machine
    .names('/sys/class/hwmon')
    .filter((name) => machine.text(`/sys/class/hwmon/${name}/name`)?.startsWith('w1'));
  if (taken.length === 0) return [];
  return [
    look(
      '1-Wire',
      `${taken.length} thermometer${taken.length === 1 ? '' : 's'} of this computer's own 1-Wire bus can be read by monitoring programs, which disturbs conversions.`,
      'stop monitoring programs that read /sys/class/hwmon for the day',
    ),
  ];
}
