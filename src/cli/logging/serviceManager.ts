import { spawn } from 'node:child_process';
import type { Say } from '../../logger/say.js';
import type { Clock } from '../../units/clock.js';
import { type DurationMs, durationMs, seconds } from '../../units/time.js';

/** Tells the service manager that started this process how it is doing (sd_notify(3)). */
export interface ServiceManager {
  /** To be called again and again, for as long as all is as it should be; `words` say how that is. */
  alive(words: string): void;
}

/** Of the time within which the manager wants to hear: three messages in a row may be lost. */
const SHARE = 4;
/** A messenger that takes longer than this is ended. */
const MESSENGER_MAX: DurationMs = seconds(10);
const USEC = 1000;

/** Runs a program; calls back with what is wrong, null when nothing is. */
export type Messenger = (
  program: string,
  args: readonly string[],
  done: (why: string | null) => void,
) => void;

/**
 * Node cannot write to the manager's socket, so `systemd-notify` does. Null where no manager listens.
 *
 * @param say told once when messages do not get through
 */
export function serviceManager(options: {
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly pid: number;
  readonly clock: Pick<Clock, 'monotonic'>;
  readonly say: Say;
  readonly messenger?: Messenger;
}): ServiceManager | null {
  const { env, pid, clock, say, messenger = run } = options;
  if (!env['NOTIFY_SOCKET']) return null;
  const isFor = env['WATCHDOG_PID'] === undefined || Number(env['WATCHDOG_PID']) === pid;
  const within = isFor ? Number(env['WATCHDOG_USEC'] ?? 0) / USEC : 0;
  const every = within > 0 ? durationMs(within / SHARE) : null;
  let told: { readonly words: string; readonly at: number } | null = null;
  let isOnItsWay = false;
  let hasComplained = false;

  const send = (message: readonly string[], then: () => void) => {
    isOnItsWay = true;
    messenger('systemd-notify', message, (why) => {
      isOnItsWay = false;
      if (why === null) return then();
      if (!hasComplained)
        say(`the service manager cannot be told that the logger lives (${why})`, undefined, 'warn');
      hasComplained = true;
    });
  };
  return {
    alive(words) {
      if (isOnItsWay) return;
      const at = clock.monotonic();
      const isDue = every !== null && told !== null && at - told.at >= every;
      if (told !== null && told.words === words && !isDue) return;
      const message = [...(told === null ? ['READY=1'] : []), ...(every === null ? [] : ['WATCHDOG=1'])];
      send([...message, `STATUS=${words}`], () => {
        told = { words, at };
      });
    },
  };
}

function run(program: string, args: readonly string[], done: (why: string | null) => void): void {
  const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'], timeout: MESSENGER_MAX });
  let complaint = '';
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    complaint = (complaint + text).slice(0, 200);
  });
  let isOver = false;
  const end = (why: string | null) => {
    if (!isOver) done(why);
    isOver = true;
  };
  child.once('error', (error: NodeJS.ErrnoException) =>
    end(error.code === 'ENOENT' ? `there is no ${program}` : `${program}: ${error.code}`),
  );
  child.once('close', (code, signal) =>
    end(code === 0 ? null : complaint.trim().split('\n')[0] || `${program} ended with ${signal ?? code}`),
  );
}
