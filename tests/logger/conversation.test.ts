import { describe, expect, it } from 'vitest';
import type { AnswerEvent, CarrierEvent, CommandName, CommandResult } from '../../src/carrier/events.js';
import { COMMANDS } from '../../src/carrier/wire/frames.js';
import { type Conversation, conversation } from '../../src/logger/conversation.js';
import { PAGE_TRIES_MAX } from '../../src/logger/pagePlan.js';
import type { SlotSetting } from '../../src/logger/slotPlan.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';
import { rom } from '../visit/situation.js';

const UTC = 1_778_587_200_000;
const board = parseBoardId('0A1B2C3D')!;
const NAMES = new Map(
  Object.entries(COMMANDS).map(([name, { code }]) => [code as string, name as CommandName]),
);

/** A host and what a board might say to it, at times of the test's choosing. */
class Table {
  now = 0;
  readonly said: string[] = [];
  readonly lost: [number, number][] = [];
  takeIns = 0;
  readonly talk: Conversation;
  constructor(
    options: { held?: readonly number[]; wanted?: ReadonlyMap<number, SlotSetting>; open?: boolean } = {},
  ) {
    this.talk = conversation({
      heldPages: () => options.held ?? [],
      wanted: () => options.wanted ?? new Map(),
      withOpenPage: options.open ?? false,
    });
    this.hear({ kind: 'link', ...this.#arrival(), state: 'open', detail: '' });
  }
  #arrival() {
    return { arrival: { utc: utcMs(UTC + this.now), monotonic: monotonicMs(this.now) } };
  }
  hear(event: CarrierEvent): void {
    this.talk.hear(event, monotonicMs(this.now), utcMs(UTC + this.now));
  }
  told(event: object): void {
    this.hear({
      ...this.#arrival(),
      boardMs: boardMs(this.now),
      board,
      bootCount: 1,
      ...event,
    } as CarrierEvent);
  }
  boots(protocolVersion = 2): void {
    this.told({
      kind: 'boot',
      resetCause: 'power-on',
      firmwareVersion: '0.2.0',
      protocolVersion,
      clock: 'running',
    });
  }
  /** Lets it act until it rests, and gives the commands it sent as `name fields`. */
  acts(): string[] {
    const sent: string[] = [];
    for (;;) {
      const wish = this.talk.next(monotonicMs(this.now), utcMs(UTC + this.now));
      if (wish === null) return sent;
      if (wish.wish === 'take-in') this.takeIns += 1;
      else if (wish.wish === 'lost') this.lost.push([wish.first, wish.last]);
      else {
        const [code, sequence, ...fields] = wish.line.slice(1, wish.line.indexOf('*')).split(',');
        this.#last = { name: NAMES.get(code!)!, sequence: Number.parseInt(sequence!, 16) };
        sent.push([this.#last.name, ...fields].join(' '));
        this.said.push(sent.at(-1)!);
      }
    }
  }
  #last: { name: CommandName; sequence: number } | null = null;
  answers(result: CommandResult = 'done', ...values: string[]): void {
    const { name, sequence } = this.#last!;
    const answer: AnswerEvent = {
      kind: 'answer',
      ...this.#arrival(),
      command: name,
      commandSequence: sequence,
      result,
      values,
    };
    this.hear(answer);
  }
  /** Goes on in time, acting every tenth of a second; `reply` is what the board says to a command. */
  waits(ms: number, reply: (command: string) => void = () => {}): void {
    for (const end = this.now + ms; this.now < end; ) {
      this.now += 100;
      for (const command of this.acts()) reply(command);
    }
  }
  /** Answers `done` to everything until it rests. */
  agrees(values: Partial<Record<CommandName, string>> = {}): void {
    for (let sent = this.acts(); sent.length > 0; sent = this.acts())
      this.answers('done', values[sent.at(-1)!.split(' ')[0] as CommandName] ?? '00');
  }
}
const log = (change: object) => ({
  kind: 'log-state',
  store: 'memory',
  oldest: 1,
  open: 4,
  acknowledged: 0,
  room: 500,
  ...change,
});
const page = (number: number) => ({ kind: 'log-page', page: number, bytes: new Uint8Array() });
/** Up to where the host asks for pages. */
function met(table: Table, state: object = {}): Table {
  table.boots();
  expect(table.acts()).toEqual(['identify']);
  table.answers();
  table.told({ kind: 'clock', clock: 'running', utc: utcMs(UTC) });
  table.told(log(state));
  return table;
}

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
    table.agrees({ resend: '0002' });
    expect(table.said).toContain('resend 000002 0002');
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
    const table = met(new Table({ held: [1, 2, 3, 4], open: true }));
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
      firmwareVersion: '0.2.0',
      protocolVersion: 2,
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
