import { describe, expect, it } from 'vitest';
import { SCAN_WITHIN } from '../../src/logger/conversation.js';
import { PAGE_TRIES_MAX, RUN_MAX } from '../../src/logger/pagePlan.js';
import { monotonicMs, utcMs } from '../../src/units/time.js';
import { rom } from '../visit/situation.js';
import { log, met, page, scan, Table, UTC } from './conversationTable.js';

describe('conversation()', () => {
  it('asks for what it lacks and acknowledges what has come', () => {
    const table = met(new Table());
    expect(table.acts()).toEqual(['marks']);
    table.answers('done', '00');
    expect(table.acts()).toEqual(['settings']);
    table.answers();
    expect(table.acts()).toEqual(['resend 000001 0003']);
    table.answers('done', '0003');
    for (const number of [1, 2]) table.told(page(number));
    expect(table.acts()).toEqual([]);
    expect(table.talk.isCaughtUp()).toBe(false);
    table.told(page(3));
    expect(table.acts()).toEqual(['acknowledge 000003']);
    expect(table.takeIns).toBeGreaterThan(0);
    table.answers();
    expect(table.acts()).toEqual([]);
    expect(table.talk.isCaughtUp()).toBe(true);
  });

  it.each([
    ['in the middle of them', 2, 1],
    ['when all had come and were taken in (negative control)', 3, 0],
    ['before any came (negative control)', 0, 0],
  ])('has pages taken in, as a part, when the link is lost %s', (_when, come, parts) => {
    const table = met(new Table());
    table.agrees({ resend: '0003' });
    for (let number = 1; number <= come; number += 1) table.told(page(number));
    table.acts();
    const before = table.takeInsOfPart;
    table.told({ kind: 'link', state: 'closed', detail: 'the device is gone' });
    expect(table.acts()).toEqual([]);
    expect([before, table.takeInsOfPart]).toEqual([0, parts]);
    // Once.
    table.waits(60_000);
    expect(table.takeInsOfPart).toBe(parts);
  });

  it.each([
    ['while the board talks', true, 3, 0],
    ['when the link is lost', false, 0, 3],
  ])(
    'has more taken in when not all was, %s, and says what is due in between',
    (_when, isOpen, whole, parts) => {
      const table = met(new Table());
      table.agrees({ resend: '0003' });
      for (let number = 1; number <= (isOpen ? 3 : 2); number += 1) table.told(page(number));
      if (!isOpen) table.told({ kind: 'link', state: 'closed', detail: 'the device is gone' });
      let before = table.takeIns;
      table.acts();
      const taken = { whole: 0, parts: 0 };
      for (let time = 0; time < 4; time += 1) {
        taken.whole += table.takeIns - before - table.takeInsOfPart;
        taken.parts += table.takeInsOfPart;
        [before, table.takeInsOfPart] = [table.takeIns, 0];
        if (time < 2) table.talk.takeInMore();
        if (isOpen) expect(table.talk.isCaughtUp()).toBe(false);
        table.acts();
      }
      expect(taken).toEqual({ whole, parts });
    },
  );

  it('has what came before a restart taken in when the link is lost after it', () => {
    const table = met(new Table());
    table.agrees({ resend: '0003' });
    for (const number of [1, 2]) table.told(page(number));
    table.acts();
    met(table);
    table.told({ kind: 'link', state: 'closed', detail: 'the device is gone' });
    table.acts();
    expect(table.takeInsOfPart).toBe(1);
  });

  describe('while scans flow', () => {
    /** Page 4 is finished, has been asked for, and comes. */
    function given(options: ConstructorParameters<typeof Table>[0] = {}): Table {
      const table = met(new Table({ held: [1, 2, 3, 4], ...options }), { open: 4, acknowledged: 3 });
      table.proves(4);
      table.told(scan);
      table.agrees();
      table.told(log({ open: 5, acknowledged: 3 }));
      expect(table.acts()).toEqual(['resend 000004 0001']);
      table.answers('done', '0001');
      table.told(page(4));
      return table;
    }

    it('acknowledges a page when the next scan has made it durable, without a sync of its own', () => {
      const table = given();
      expect(table.acts()).toEqual([]);
      table.waits(10_000, () => table.answers());
      expect(table.said).not.toContain('acknowledge 000004');
      expect(table.talk.isCaughtUp()).toBe(false);
      // Nobody need hurry meanwhile.
      expect(table.talk.isBusy(monotonicMs(table.now))).toBe(false);
      table.told(scan);
      expect(table.acts()).toEqual(['acknowledge 000004']);
      table.answers();
      expect(table.talk.isCaughtUp()).toBe(true);
      expect(table.settles).toBe(0);
    });

    it('acknowledges at once what was recorded together with a scan, or before one', () => {
      const table = given();
      table.commits = { made: 99, durable: 99 };
      expect(table.acts()).toEqual(['acknowledge 000004']);
    });

    it('waits no longer than the slowest board takes for a scan', () => {
      const table = given();
      table.waits(SCAN_WITHIN, () => table.answers());
      expect([table.settles, table.said.includes('acknowledge 000004')]).toEqual([0, false]);
      table.waits(200, () => table.answers());
      expect([table.settles, table.said.includes('acknowledge 000004')]).toEqual([1, true]);
      expect(table.talk.isCaughtUp()).toBe(true);
    });

    it('acknowledges nothing that cannot be made durable, and tries again, but not at once', () => {
      const table = given();
      table.isStuck = true;
      table.waits(SCAN_WITHIN * 2.5, () => table.answers());
      expect([table.settles, table.said.includes('acknowledge 000004')]).toEqual([2, false]);
    });

    it('does not take a page for durable because the board restarted or the port was opened again', () => {
      const table = given();
      table.told(log({ open: 6, acknowledged: 3 }));
      expect(table.acts()).toEqual(['resend 000005 0001']);
      table.answers('done', '0001');
      table.told(page(5));
      table.told({ kind: 'link', state: 'closed', detail: '' });
      table.told({ kind: 'link', state: 'open', detail: '' });
      // Page 5 is the last one here and asked for again, page 4 is not.
      met(table, { open: 6, acknowledged: 3 }).proves(5);
      table.agrees();
      expect(table.said.filter((line) => line.startsWith('resend')).at(-1)).toBe('resend 000005 0001');
      expect(table.said).not.toContain('acknowledge 000004');
      table.told(scan);
      table.waits(10_000, () => table.answers());
      expect(table.said).toContain('acknowledge 000005');
      expect(table.settles).toBe(0);
    });
  });

  it('makes a run of pages durable at its end, unless what was taken in of them did', () => {
    for (const findsReadings of [false, true]) {
      const table = met(new Table());
      table.findsReadings = findsReadings;
      table.agrees({ resend: '0003' });
      expect(table.settles).toBe(0);
      for (const number of [1, 2, 3]) table.told(page(number));
      expect(table.acts()).toEqual(['acknowledge 000003']);
      expect([table.takeIns, table.settles]).toEqual([1, findsReadings ? 0 : 1]);
    }
  });

  it('takes in nothing before the whole of the log is here: a later page may tell that the clock was set', () => {
    const table = met(new Table(), { open: RUN_MAX + 3 });
    table.agrees({ resend: '0040' });
    for (let number = 1; number <= RUN_MAX; number += 1) table.told(page(number));
    expect(table.acts()).toEqual(['acknowledge 000040']);
    table.answers();
    expect(table.acts()).toEqual(['resend 000041 0002']);
    expect(table.takeIns).toBe(0);
    table.answers('done', '0002');
    for (const number of [RUN_MAX + 1, RUN_MAX + 2]) table.told(page(number));
    table.agrees();
    expect(table.takeIns).toBe(1);
  });

  it('does not wait for a scan when it reads the page that grows, and is not done before that is durable', () => {
    const table = met(new Table({ held: [1, 2, 3, 4], open: true }), { acknowledged: 3 });
    table.isStuck = true;
    table.proves(4);
    expect(table.acts()).toEqual([]);
    expect([table.settles, table.talk.isCaughtUp()]).toEqual([1, false]);
    table.isStuck = false;
    table.waits(SCAN_WITHIN + 100, () => table.answers());
    expect([table.settles, table.talk.isCaughtUp()]).toEqual([2, true]);
  });

  it('asks again for a page that did not come, and gives it up after three times', () => {
    const table = met(new Table());
    table.waits(60_000, (command) => {
      table.answers('done', command === 'resend 000001 0003' ? '0002' : '0000');
      // Page 2 cannot be read on the board.
      if (command === 'resend 000001 0003') for (const number of [1, 3]) table.told(page(number));
    });
    expect(table.said.filter((line) => line === 'resend 000002 0001')).toHaveLength(PAGE_TRIES_MAX - 1);
    expect(table.lost).toEqual([[2, 2]]);
    expect(table.said).toContain('acknowledge 000003');
  });

  it('never acknowledges a page that is not here', () => {
    const table = met(new Table());
    table.agrees({ resend: '0003' });
    table.waits(60_000);
    expect(table.said.some((line) => line.startsWith('acknowledge'))).toBe(false);
  });

  it('does not ask for what is durable here, but for the last page, which may have been read half', () => {
    const table = met(new Table({ held: [1, 2] }));
    table.proves(2);
    expect(table.acts()).toEqual(['resend 000003 0001']);
  });

  it('asks a board without memory for all it has', () => {
    const table = met(new Table({ held: [1, 2, 3] }), { store: 'ram' });
    table.agrees({ resend: '0003' });
    expect(table.said).toContain('resend 000001 0003');
  });

  it('waits while the log is being mounted', () => {
    const table = met(new Table(), { store: 'mounting' });
    table.agrees();
    expect(table.said).toEqual(['identify', 'marks', 'settings']);
    expect(table.talk.isCaughtUp()).toBe(false);
  });

  it('reads also the page that still grows when it should', () => {
    const table = met(new Table({ held: [1, 2, 3], open: true }));
    table.proves(3);
    table.agrees({ resend: '0001' });
    expect(table.said).toContain('resend 000004 0001');
  });

  it('sets a clock that is wrong or stopped, as a second begins, and leaves a right one', () => {
    const right = met(new Table());
    right.agrees();
    right.waits(5000);
    expect(right.said.some((line) => line.startsWith('time'))).toBe(false);
    for (const clock of [
      { clock: 'stopped', utc: null },
      { clock: 'running', utc: utcMs(UTC - 3000) },
    ]) {
      const wrong = met(new Table());
      wrong.now = 700;
      wrong.told({ kind: 'clock', ...clock });
      wrong.agrees();
      expect(wrong.said.some((line) => line.startsWith('time'))).toBe(false);
      wrong.now = 1050;
      wrong.agrees();
      const seconds = Math.floor((UTC + 1050) / 1000);
      expect(wrong.said).toContain(`time ${seconds.toString(16).toUpperCase()}`);
    }
  });

  it('tells the board its slots, and does not insist on what it refuses', () => {
    const table = met(new Table({ wanted: new Map([[4, { rom, cold: 249, hot: 640, due: null }]]) }));
    for (let sent = table.acts(); sent.length > 0; sent = table.acts())
      table.answers(sent.at(-1)!.startsWith('limits') ? 'out-of-range' : 'done', '0000');
    table.waits(5000);
    expect(table.said.filter((line) => line.startsWith('limits'))).toHaveLength(1);
  });

  it('says that it is there often enough', () => {
    const table = met(new Table());
    table.waits(60_000, () => table.answers('done', '0000'));
    expect(table.said.filter((line) => line === 'identify').length).toBeGreaterThanOrEqual(3);
  });

  it('begins anew when the board restarts or the port is opened again', () => {
    const table = met(new Table());
    table.agrees();
    table.told({
      kind: 'boot',
      bootCount: 2,
      resetCause: 'watchdog',
      firmwareVersion: '0.3.0',
      protocolVersion: 3,
      clock: 'running',
    });
    expect(table.acts()).toEqual(['identify']);
  });

  it('leaves a board alone that hears no commands', () => {
    const table = new Table();
    table.boots(1);
    table.waits(120_000);
    expect(table.said.length).toBeLessThanOrEqual(1);
    expect(table.talk.isMute()).toBe(true);
  });

  it('asks a silent board a bounded number of times, rests, and tries again', () => {
    const table = new Table();
    table.waits(9000);
    expect(table.said).toEqual(Array(4).fill('identify'));
    expect(table.talk.isMute()).toBe(true);
    table.waits(29_000);
    expect(table.said).toHaveLength(4);
    table.waits(3000);
    expect(table.said.length).toBeGreaterThan(4);
  });
});
