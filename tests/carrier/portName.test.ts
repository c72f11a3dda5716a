import { afterEach, beforeEach, describe, expect, it } from 'vitest';
// Native parts choose theirs by the platform when they are loaded.
import '../../src/carrier/openPort.js';
import '../../src/store/store.js';
import { openName, refuseWaitingName } from '../../src/carrier/portName.js';
import { run } from '../cli/run.js';

describe('the names of a port on macOS', () => {
  const platform = process.platform;
  beforeEach(() => {
    Object.defineProperty(process, 'platform', { value: 'darwin' });
  });
  afterEach(() => {
    Object.defineProperty(process, 'platform', { value: platform });
  });
  const waits = '/dev/tty.usbserial-110';
  const opens = '/dev/cu.usbserial-110';
  const sentence = new RegExp(
    `^Opening ${waits} may wait for ever on macOS, .*; name the port ${opens} instead, which is the same one and opens at once.$`,
  );
  const oneLine = (text: string) => text.trim().replace(/\s+/g, ' ');

  it.each([
    ['log', ['log', '--port', `${waits}=A`]],
    ['log with a stock board', ['log', '--stock', waits]],
    ['sync', ['sync', '--port', waits]],
    ['carrier flash', ['carrier', 'flash', '--port', waits, '--dry-run']],
  ])('%s refuses the one that may wait for ever, and names the other', async (_, args) => {
    const { code, out, err } = await run(args);
    expect([code, out]).toEqual([1, '']);
    expect(oneLine(err)).toMatch(sentence);
  });

  it('carrier check does, too, after it has said where it listens', async () => {
    const { code, err } = await run(['carrier', 'check', '--port', waits]);
    expect(code).toBe(1);
    expect(oneLine(err.split('\n').slice(1).join(' '))).toMatch(sentence);
  });

  it('takes the other one (negative control): only the port is missing here', async () => {
    const { err } = await run(['log', '--port', opens]);
    expect(err).not.toContain('wait for ever');
    expect(() => refuseWaitingName(opens)).not.toThrow();
  });

  it('leaves other systems alone', () => {
    Object.defineProperty(process, 'platform', { value: 'linux' });
    for (const path of [waits, '/dev/ttyUSB0', 'COM3']) {
      expect(() => refuseWaitingName(path)).not.toThrow();
      expect(openName(path, 'linux')).toBe(path);
    }
  });

  it('looks for a board that comes back by the name that opens', () => {
    expect([waits, '/dev/tty.', '/dev/ttys001'].map((path) => openName(path, 'darwin'))).toEqual([
      opens,
      '/dev/tty.',
      '/dev/ttys001',
    ]);
  });
});
