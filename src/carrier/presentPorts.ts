import { readdir } from 'node:fs/promises';
import { openName } from './portName.js';

/** Serial ports of this computer. On Linux read off /dev, because the driver dies where udevadm is missing. */
export async function presentPorts(): Promise<string[]> {
  if (process.platform === 'linux')
    return (await readdir('/dev'))
      .filter((name) => /^tty(?:USB|ACM|AMA)\d+$/.test(name))
      .map((name) => `/dev/${name}`)
      .sort();
  const { SerialPort } = await import('serialport');
  return (await SerialPort.list()).map(({ path }) => openName(path, process.platform));
}
