import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { serialBoard } from '../../src/carrier/serialBoard.js';
import { durationMs, utcMs } from '../../src/units/time.js';
import { type End, FakePorts, talkingBoard } from './fakePorts.js';
import { VirtualClock } from './host/virtualClock.js';
import { Listening } from './listening.js';
import { BOARD, bootLine } from './wire/lines.js';

const OTHER = '0FFFFFF0';
let clock: VirtualClock;
let ports: FakePorts;
let heard: Listening;

beforeEach(() => {
  clock = new VirtualClock(utcMs(0));
  ports = new FakePorts(clock);
  heard = new Listening(clock);
});
afterEach(() => heard.end());
const board = (id = BOARD, boot = 1, startsAfterMs = 500) => talkingBoard(clock, { id, boot, startsAfterMs });
const source = () => serialBoard('/dev/one', clock, ports.access);
const begin = () => void heard.begin(source());
const beats = () => heard.events.filter(({ kind }) => kind === 'heartbeat').length;

describe('serialBoard()', () => {
  it('hears its board, and begins anew when it was unplugged and plugged in again', async () => {
    ports.plugIn('/dev/one', board());
    begin();
    await clock.run(10_000);
    expect(beats()).toBe(10);
    ports.unplug('/dev/one');
    await clock.run(60_000);
    expect(heard.links('closed')).toEqual(['/dev/one: the board was unplugged']);
    ports.plugIn('/dev/one', board(BOARD, 2));
    await clock.run(80_000);
    expect(heard.links('open')).toEqual(['/dev/one is open', '/dev/one is open']);
    expect(heard.events.filter((event) => event.kind === 'boot').map(({ bootCount }) => bootCount)).toEqual([
      1, 2,
    ]);
  });

  it('waits longer and longer, up to ten seconds, and never gives up', async () => {
    ports.plugIn('/dev/one', board());
    begin();
    await clock.run(5_000);
    ports.unplug('/dev/one');
    await clock.run(600_000);
    const waits = ports.openings.slice(1).map(({ at }, index) => (at - ports.openings[index]!.at) / 1000);
    expect(waits.slice(1, 5)).toEqual([2, 5, 10, 10]);
    expect(new Set(waits.slice(3))).toEqual(new Set([10]));
    expect(ports.openings.length).toBeGreaterThan(55);
  });

  it('opens a port again that is open and silent', async () => {
    ports.plugIn('/dev/one', () => {});
    begin();
    await clock.run(40_000);
    expect(heard.links('closed')[0]).toBe(
      '/dev/one: no data for 15 seconds; tried again for as long as it takes',
    );
    expect(heard.links('open').length).toBeGreaterThan(1);
  });

  it('waits longer and longer for a port that can be opened and does not stay, and says so once', async () => {
    ports.plugIn('/dev/one', async (end) => {
      await clock.sleep(durationMs(700));
      end.unplug();
    });
    begin();
    await clock.run(600_000);
    const waits = ports.openings.slice(1).map(({ at }, index) => (at - ports.openings[index]!.at) / 1000);
    expect(waits.slice(0, 5)).toEqual([2.7, 5.7, 10.7, 10.7, 10.7]);
    expect(heard.links('open').filter(Boolean)).toEqual(['/dev/one is open']);
    expect(heard.links('closed').filter(Boolean)).toEqual([
      '/dev/one: the board was unplugged; tried again for as long as it takes',
    ]);
    // A board that speaks is told, and begins anew (negative control).
    ports.plugIn('/dev/one', board());
    await clock.run(625_000);
    expect(heard.links('note')).toEqual(['/dev/one: the board is heard again']);
    ports.unplug('/dev/one');
    ports.plugIn('/dev/one', board(BOARD, 2));
    await clock.run(630_000);
    expect(heard.links('closed').filter(Boolean)).toHaveLength(2);
    const last = ports.openings.at(-1)!.at - ports.openings.at(-2)!.at;
    expect(last).toBeLessThan(25_000);
    expect(heard.links('open').filter(Boolean)).toHaveLength(2);
  });

  it.each([
    ['lines of another device', '$GPGGA,123519,4807.038,N\r\n'],
    ['bytes without any newline', '\xff\x00garbage'],
    ['half lines of ours', `${bootLine(1, 0).slice(0, 20)}\r\n`],
  ])('says once that %s are not from a board of ours, and goes on listening', async (_, text) => {
    let end: End | null = null;
    ports.plugIn('/dev/one', async (opened) => {
      end = opened;
      while (opened.isOpen()) {
        opened.say(text);
        await clock.sleep(durationMs(100));
      }
    });
    begin();
    await clock.run(120_000);
    expect(heard.links('note')).toHaveLength(1);
    expect(heard.links('note')[0]).toMatch(
      /^\/dev\/one: what comes is not from a board of ours \(\d+ bytes so far\); is another device on that port\?$/,
    );
    expect(heard.links('closed')).toEqual([]);
    end!.say(`\r\n${bootLine(1, 0)}\r\n`);
    await clock.run(121_000);
    expect(heard.events.some(({ kind }) => kind === 'boot')).toBe(true);
  });

  it('says nothing of the kind to a board with some noise on its line', async () => {
    ports.plugIn('/dev/one', async (end) => {
      void board()(end);
      for (;;) {
        end.say('\xff\xfe noise\r\n');
        await clock.sleep(durationMs(5_000));
        if (!end.isOpen()) return;
      }
    });
    begin();
    await clock.run(120_000);
    expect(heard.links('note')).toEqual([]);
    expect(beats()).toBeGreaterThan(110);
  });

  it.each([
    ['does not count a line that its own end cuts short as damage', () => heard.end(), []],
    ['counts one that a cable cut short (negative control)', () => ports.unplug('/dev/one'), ['unfinished']],
  ] as const)('%s', async (_, end, expected) => {
    ports.plugIn('/dev/one', async (opened) => {
      await clock.sleep(durationMs(1_000));
      opened.say(`${bootLine(1, 0)}\r\n${bootLine(1, 0).slice(0, 20)}`);
    });
    begin();
    await clock.run(5_000);
    await end();
    await clock.pass(1_000);
    const discarded = heard.events.flatMap((event) => (event.kind === 'discarded' ? [event.reason] : []));
    expect(discarded).toEqual(expected);
  });

  it('writes from the moment it runs', async () => {
    ports.plugIn('/dev/one', board());
    const opened = source();
    await heard.begin(opened);
    opened.write('at once\n');
    await clock.settle();
    expect(ports.ends.get('/dev/one')!.heard).toEqual(['at once\n']);
  });

  it('loses what is written while the port is closed', async () => {
    ports.plugIn('/dev/one', board());
    const opened = source();
    void heard.begin(opened);
    await clock.run(3_000);
    opened.write('first\n');
    expect(ports.ends.get('/dev/one')!.heard).toEqual(['first\n']);
    ports.unplug('/dev/one');
    await clock.settle();
    opened.write('lost\n');
    ports.plugIn('/dev/one', board(BOARD, 2));
    await clock.run(20_000);
    expect(ports.ends.get('/dev/one')!.heard).toEqual([]);
  });
});

describe('serialBoard() when the port was renamed', () => {
  it('finds its board by the id it announces on a port that is new', async () => {
    ports.plugIn('/dev/one', board());
    ports.plugIn('/dev/old', board(OTHER));
    begin();
    await clock.run(5_000);
    // The old name is still held when the board comes back, so the system gives it another.
    ports.plugIn('/dev/new', board(BOARD, 2));
    ports.unplug('/dev/one');
    await clock.run(30_000);
    expect(heard.links('open')).toEqual(['/dev/one is open', '/dev/new is open']);
    // Nothing was lost while it was looked at who is there.
    const boots = heard.events.filter((event) => event.kind === 'boot');
    expect(boots.map(({ bootCount }) => bootCount)).toEqual([1, 2]);
    const first = heard.events.findIndex((event) => event.kind === 'heartbeat' && event.bootCount === 2);
    expect(heard.events[first]).toMatchObject({ boardMs: 1000 });
    // Ports that were there before are others' business.
    expect(ports.openings.some(({ path }) => path === '/dev/old')).toBe(false);
  });

  it('leaves another board on a new port alone, after one look', async () => {
    ports.plugIn('/dev/one', board());
    begin();
    await clock.run(5_000);
    ports.plugIn('/dev/new', board(OTHER));
    ports.unplug('/dev/one');
    await clock.run(120_000);
    expect(heard.links('open')).toEqual(['/dev/one is open']);
    expect(ports.openings.filter(({ path }) => path === '/dev/new')).toHaveLength(1);
    expect(heard.events.filter(({ kind }) => kind === 'boot')).toHaveLength(1);
    ports.plugIn('/dev/one', board(BOARD, 2));
    await clock.run(150_000);
    expect(heard.links('open')).toEqual(['/dev/one is open', '/dev/one is open']);
  });

  it('asks a board that does not restart when its port is opened', async () => {
    ports.plugIn('/dev/one', board());
    begin();
    await clock.run(5_000);
    ports.plugIn('/dev/new', async (end) => {
      while (end.heard.length === 0) await clock.sleep(durationMs(100));
      end.say(`${bootLine(1, 9)}\r\n`);
      void board(BOARD, 1, 100)(end);
    });
    ports.unplug('/dev/one');
    await clock.run(40_000);
    expect(heard.links('open')).toEqual(['/dev/one is open', '/dev/new is open']);
  });

  it('looks at no other port for a board it never heard', async () => {
    ports.plugIn('/dev/one', () => {});
    begin();
    await clock.run(5_000);
    ports.plugIn('/dev/new', board());
    ports.unplug('/dev/one');
    await clock.run(60_000);
    expect(ports.openings.every(({ path }) => path === '/dev/one')).toBe(true);
  });
});
