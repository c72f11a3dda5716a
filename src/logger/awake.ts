import { spawn } from 'node:child_process';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { type DurationMs, seconds } from '../units/time.js';
import { isExposed } from '../visit/cup.js';
import { EMPTY_SEASON, foldSeason, type Season } from '../visit/season.js';
import type { Level, Say } from './say.js';

/** How often the facts are looked at for cups that were loaded or turned. */
const LOOK_EVERY: DurationMs = seconds(5);
/** After a refusal it is asked again after this time. */
const ASK_AGAIN: DurationMs = seconds(60);
/** How much of a program's complaint is passed on, characters. */
const COMPLAINT_MAX = 200;

const WHY = 'assay cups are loaded';

/** A program that keeps a computer awake for as long as it runs, with its arguments. */
export type Keeper = readonly [program: string, ...args: string[]];

/**
 * The program that keeps this kind of computer awake, null where there is none. Either ends with this process,
 * however that ends: `cat` when the other end of its standard input is gone, `caffeinate` when `pid` is.
 */
export function keeperFor(platform: string, pid: number): Keeper | null {
  if (platform === 'linux')
    return [
      'systemd-inhibit',
      '--what=sleep:idle:handle-lid-switch',
      '--mode=block',
      '--who=stillwarm',
      `--why=${WHY}`,
      'cat',
    ];
  return platform === 'darwin' ? ['caffeinate', '-i', '-w', String(pid)] : null;
}

/** Whether bees are with a strip, or in a cup that runs beside them, now. */
export const holdsLoadedCups = (season: Season): boolean => [...season.cups.values()].some(isExposed);

/**
 * Keeps the computer from sleeping while any cup of the store is loaded, until the returned function is called. When it
 * cannot, `say` is told once why, and it is tried again. It never ends the logging.
 */
export function keepAwake(options: {
  readonly store: Store;
  readonly clock: Pick<Clock, 'every' | 'monotonic'>;
  readonly say: Say;
  readonly keeper: Keeper | null;
}): () => void {
  const { store, clock, say, keeper } = options;
  let season = EMPTY_SEASON;
  let seen = 0;
  let hold: Hold | null = null;
  let deniedAt: number | null = null;
  let said = '';

  const tell = (sentence: string, level?: Level) => {
    if (sentence !== said) say(sentence, undefined, level);
    said = sentence;
  };
  const release = () => {
    hold?.release();
    hold = null;
    deniedAt = null;
  };
  const look = () => {
    const facts = store.facts(seen);
    seen = facts.at(-1)?.seq ?? seen;
    if (facts.length > 0) season = foldSeason(facts, season);
    if (!holdsLoadedCups(season)) {
      if (hold !== null) tell('sleep: no cup is loaded; this computer may sleep again');
      return release();
    }
    if (hold !== null) return;
    if (keeper === null)
      return tell(
        'sleep: cups are loaded, and nothing here keeps this computer awake: switch off sleep',
        'warn',
      );
    if (deniedAt !== null && clock.monotonic() - deniedAt < ASK_AGAIN) return;
    const mine = holdWith(keeper, (why) => {
      if (hold !== mine) return;
      hold = null;
      deniedAt = clock.monotonic();
      tell(
        `sleep: cups are loaded, and this computer cannot be kept awake (${why}): switch off sleep`,
        'warn',
      );
    });
    hold = mine;
    tell(`sleep: cups are loaded; ${keeper[0]} was asked to keep this computer awake`);
  };
  const lookSafely = () => {
    try {
      look();
    } catch {
      // The store cannot be read. The logger deals with that.
    }
  };
  lookSafely();
  const stop = clock.every(LOOK_EVERY, lookSafely);
  return () => {
    stop();
    release();
  };
}

interface Hold {
  release(): void;
}

/** Runs the keeper. `onEnd` is called, with the reason, when it ends or cannot be started before it is released. */
function holdWith([program, ...args]: Keeper, onEnd: (why: string) => void): Hold {
  const child = spawn(program, args, { stdio: ['pipe', 'ignore', 'pipe'] });
  let complaint = '';
  child.stdin.on('error', () => {});
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    complaint = (complaint + text).slice(0, COMPLAINT_MAX);
  });
  let isOver = false;
  const end = (why: string) => {
    if (!isOver) onEnd(why);
    isOver = true;
  };
  child.once('error', (error: NodeJS.ErrnoException) =>
    end(error.code === 'ENOENT' ? `there is no ${program}` : `${program}: ${error.code}`),
  );
  child.once('close', (code, signal) => {
    const first = complaint.trim().split('\n')[0];
    end(first || `${program} ended with ${signal ?? code}`);
  });
  return {
    release() {
      isOver = true;
      child.stdin.end();
      child.kill();
    },
  };
}
