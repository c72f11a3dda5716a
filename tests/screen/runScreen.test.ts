import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { runScreen, type ScreenOptions } from '../../src/screen/runScreen.js';
import type { Clock } from '../../src/units/clock.js';
import { monotonicMs } from '../../src/units/time.js';
import { fillStore, SHOWN_AT, storeInFolder } from './invented.js';
import { NO_ENTRY } from './noEntry.js';
import { type FakeTerminal, fakeTerminal, keyboard } from './terminals.js';

const ENTER = '\u001b[?1049h';
const LEAVE = '\u001b[?1049l';
const SHOW_CURSOR = '\u001b[?25h';
const BELL = '\u0007';

let folder: ReturnType<typeof storeInFolder>;
let terminal: FakeTerminal;
let tick: () => void;
let finished: boolean;
beforeEach(() => {
  folder = storeInFolder();
  fillStore(folder.store);
  folder.store.setLogger({ pid: 1, beat: SHOWN_AT, now: SHOWN_AT, speed: 1, state: 'logging' });
  terminal = fakeTerminal();
  tick = () => {};
  finished = false;
});
afterEach(() => folder.remove());

const clock: Clock = {
  utc: () => SHOWN_AT,
  monotonic: () => monotonicMs(0),
  steady: () => monotonicMs(0),
  sleep: () => Promise.resolve(),
  every(period, task) {
    if (period === WHOLE) drawWhole = task;
    if (period !== REFRESH) return () => {};
    tick = task;
    return () => {
      tick = () => {};
    };
  },
};

/** How often the picture is renewed, and how often all of it is drawn, milliseconds. */
const [REFRESH, WHOLE] = [1000, 10_000];
let drawWhole = () => {};

/** Starts a screen and waits until it is drawn, with these words on it. */
async function started(given: Partial<ScreenOptions> = {}, words = 'Carrier A') {
  const stdin = keyboard(true);
  const ended = runScreen({
    store: folder.store,
    now: () => SHOWN_AT,
    clock,
    title: 'stillwarm',
    zone: 'UTC',
    entry: NO_ENTRY,
    results: () => ['Yard sedge-12: above the 70 % line'],
    finished: () => finished,
    stdin,
    stdout: terminal.stdout,
    env: { NO_COLOR: '1' },
    ...given,
  });
  await until(() => terminal.written().includes(words));
  return { ended, stdin };
}
/** Lets the streams do their work; fails after five seconds. */
async function until(condition: () => boolean) {
  await expect.poll(condition, { timeout: 5000, interval: 5 }).toBe(true);
}
const bells = () => terminal.written().split(BELL).length - 1;

describe('runScreen()', () => {
  it('draws on a screen of its own and gives the terminal back on q', async () => {
    const { ended, stdin } = await started();
    expect(terminal.written().startsWith(ENTER)).toBe(true);
    stdin.write('q');
    expect(await ended).toBe('quit');
    const end = terminal.written().slice(-60);
    expect(end).toContain(LEAVE);
    expect(end.endsWith(SHOW_CURSOR)).toBe(true);
    // 3J would wipe what stands in the scrollback.
    expect(terminal.written()).not.toContain('\u001b[3J');
  });

  it('sends no colours when NO_COLOR is set', async () => {
    const { ended, stdin } = await started();
    stdin.write('q');
    await ended;
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are control sequences
    expect(terminal.written()).not.toMatch(/\u001b\[[0-9;]*m/);
  });

  it('rings twice for act-now, once only', async () => {
    const { ended, stdin } = await started();
    await until(() => bells() === 2);
    tick();
    tick();
    stdin.write('q');
    await ended;
    expect(bells()).toBe(2);
  });

  it('rings for nothing that begins while muted', async () => {
    folder.remove();
    folder = storeInFolder();
    const { stdin, ended } = await started({}, 'No carrier has');
    stdin.write('m');
    await until(() => terminal.written().includes('19 unmute'));
    fillStore(folder.store);
    tick();
    await until(() => terminal.written().includes('ACT NOW'));
    stdin.write('q');
    await ended;
    expect(bells()).toBe(0);
  });

  it('shows the results when finished, until they are put away', async () => {
    const { ended, stdin } = await started();
    finished = true;
    tick();
    await until(() => terminal.written().includes('above the 70 % line'));
    stdin.write('\r');
    expect(await ended).toBe('finished');
  });

  it('returns at once when finished and there are no keys', async () => {
    const { ended } = await started({ stdin: keyboard(false) });
    finished = true;
    tick();
    expect(await ended).toBe('finished');
    expect(terminal.written()).not.toContain('above the 70 % line');
  });

  it('draws all of it anew every ten seconds, and on Ctrl-L, for others may have written on the terminal', async () => {
    const { ended, stdin } = await started();
    const whole = (from: number) => terminal.written().slice(from).includes('Carrier A');
    let from = terminal.written().length;
    tick();
    expect(whole(from)).toBe(false);
    drawWhole();
    await until(() => whole(from));
    from = terminal.written().length;
    stdin.write('\f');
    await until(() => whole(from));
    stdin.write('q');
    expect(await ended).toBe('quit');
  });

  it('draws nothing and rings no bell while it is stopped', async () => {
    const kill = vi.spyOn(process, 'kill').mockReturnValue(true);
    const { ended, stdin } = await started();
    process.emit('SIGTSTP');
    expect(kill).toHaveBeenCalledWith(process.pid, 'SIGSTOP');
    const stopped = terminal.written();
    expect(stopped.endsWith(SHOW_CURSOR)).toBe(true);
    for (const draw of [tick, drawWhole]) draw();
    expect(terminal.written()).toBe(stopped);
    process.emit('SIGCONT');
    await until(() => terminal.written().slice(stopped.length).includes('Carrier A'));
    kill.mockRestore();
    stdin.write('q');
    await ended;
  });

  it('draws anew for a window of another size', async () => {
    const { ended, stdin } = await started();
    terminal.resize(50, 10);
    await until(() => terminal.written().includes('Please make this window larger'));
    const from = terminal.written().length;
    terminal.resize(60, 18);
    await until(() => terminal.written().slice(from).includes('page 1/'));
    stdin.write('q');
    await ended;
    expect(terminal.written()).not.toContain('\u001b[3J');
  });

  it.each(['SIGHUP', 'SIGTERM'] as const)('quits on %s and takes its listeners off', async (signal) => {
    const before = process.listenerCount(signal);
    const { ended } = await started();
    process.emit(signal);
    expect(await ended).toBe('quit');
    expect(process.listenerCount(signal)).toBe(before);
  });

  it.each(['EPIPE', 'EIO'])('quits when the output fails with %s', async (code) => {
    const { ended } = await started();
    terminal.breakWith(code);
    finished = false;
    folder.store.setLogger({ pid: 1, beat: SHOWN_AT, now: SHOWN_AT, speed: 1, state: 'logging' });
    terminal.resize(70, 20);
    expect(await ended).toBe('quit');
    // What is printed afterwards fails too, and must not bring the process down.
    terminal.stdout.write('results\n');
    await new Promise((resolve) => setImmediate(resolve));
  });

  it('quits when the keyboard hangs up', async () => {
    const { ended, stdin } = await started();
    stdin.end();
    expect(await ended).toBe('quit');
  });

  it('gives the terminal back before it passes on an error of its caller', async () => {
    const { ended } = await started({
      finished: () => {
        if (finished) throw new Error('no results');
        return false;
      },
    });
    finished = true;
    tick();
    await expect(ended).rejects.toThrow('no results');
    expect(terminal.written()).toContain(LEAVE);
  });
});
