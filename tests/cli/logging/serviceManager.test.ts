import { describe, expect, it } from 'vitest';
import { SteppedClock } from '../../../src/carrier/emulated/steppedClock.js';
import { serviceManager } from '../../../src/cli/logging/serviceManager.js';
import { utcMs } from '../../../src/units/time.js';

const SOCKET = { NOTIFY_SOCKET: '/run/x' };
/** What is told at a manager's socket by a logger that says that it lives every two seconds, for so long. */
function told(
  env: Record<string, string>,
  seconds: number,
  {
    words = (_: number): string => 'logging',
    fails = (_: number): string | null => null,
    isAlive = (_: number): boolean => true,
  } = {},
) {
  const clock = new SteppedClock(utcMs(0));
  const messages: string[] = [];
  const said: string[] = [];
  const manager = serviceManager({
    env,
    pid: 7,
    clock,
    say: (sentence) => said.push(sentence),
    messenger(program, args, done) {
      const at = clock.monotonic() / 1000;
      messages.push(`${at} ${program} ${args.join(' ')}`);
      done(fails(at));
    },
  });
  for (let at = 2; at <= seconds; at += 2) {
    clock.moveTo(at * 1000);
    if (isAlive(at)) manager?.alive(words(at));
  }
  return { isThere: manager !== null, messages, said };
}

describe('serviceManager()', () => {
  it('is none where no manager listens', () => {
    expect(told({ WATCHDOG_USEC: '1000000' }, 10)).toEqual({ isThere: false, messages: [], said: [] });
  });

  it('says once that the logger is ready, and nothing more without a watchdog', () => {
    expect(told(SOCKET, 600).messages).toEqual(['2 systemd-notify READY=1 STATUS=logging']);
  });

  it('feeds the watchdog four times in its time, while the logger lives', () => {
    // systemd.service(5): WATCHDOG_USEC is in microseconds; sd_watchdog_enabled(3): at least twice in that time.
    const { messages } = told({ ...SOCKET, WATCHDOG_USEC: '40000000', WATCHDOG_PID: '7' }, 60, {
      isAlive: (at) => at <= 34,
    });
    expect(messages).toEqual([
      '2 systemd-notify READY=1 WATCHDOG=1 STATUS=logging',
      '12 systemd-notify WATCHDOG=1 STATUS=logging',
      '22 systemd-notify WATCHDOG=1 STATUS=logging',
      '32 systemd-notify WATCHDOG=1 STATUS=logging',
    ]);
  });

  it('leaves a watchdog alone that is for another process', () => {
    expect(told({ ...SOCKET, WATCHDOG_USEC: '40000000', WATCHDOG_PID: '8' }, 60).messages).toHaveLength(1);
  });

  it('tells a change at once', () => {
    const words = (at: number) => (at < 10 ? 'logging' : 'nothing can be stored');
    expect(told(SOCKET, 20, { words }).messages.slice(1)).toEqual([
      '10 systemd-notify STATUS=nothing can be stored',
    ]);
  });

  it('tries again what did not get through, and says so once', () => {
    const { messages, said } = told(SOCKET, 8, {
      fails: (at) => (at < 6 ? 'there is no systemd-notify' : null),
    });
    expect(messages.map((each) => each.split(' ')[2])).toEqual(['READY=1', 'READY=1', 'READY=1']);
    expect(said).toEqual([
      'the service manager cannot be told that the logger lives (there is no systemd-notify)',
    ]);
  });
});
