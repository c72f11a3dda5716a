import { expect } from 'vitest';
import type { AnswerEvent, CarrierEvent, CommandName, CommandResult } from '../../src/carrier/events.js';
import { COMMANDS } from '../../src/carrier/wire/frames.js';
import { type Conversation, conversation } from '../../src/logger/conversation.js';
import type { SlotSetting } from '../../src/logger/slotPlan.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';

export const UTC = 1_778_587_200_000;
const board = parseBoardId('0A1B2C3D')!;
const NAMES = new Map(
  Object.entries(COMMANDS).map(([name, { code }]) => [code as string, name as CommandName]),
);

/** A host and what a board might say to it, at times of the test's choosing. Pages are recorded unsynced, scans are synced. */
export class Table {
  now = 0;
  commits = { made: 7, durable: 7 };
  settles = 0;
  /** Whether taking in finds readings that were not here, and writes them. */
  findsReadings = false;
  /** Whether settling comes to nothing. */
  isStuck = false;
  readonly said: string[] = [];
  readonly lost: [number, number][] = [];
  takeIns = 0;
  /** Those among them before all of the log had come. */
  takeInsOfPart = 0;
  readonly talk: Conversation;
  constructor(
    options: { held?: readonly number[]; wanted?: ReadonlyMap<number, SlotSetting>; open?: boolean } = {},
  ) {
    this.talk = conversation({
      keptLogs: (_board, from, upTo) => {
        const kept = new Map([
          ...(options.held ?? []).map((each) => [each, bytesOf(1)] as const),
          ...this.#recorded,
        ]);
        const pages = [...kept.keys()].filter((each) => each >= from && each <= upTo).sort((a, b) => a - b);
        return pages.length === 0 ? [] : [{ pages, last: kept.get(pages.at(-1)!)! }];
      },
      commits: () => this.commits,
      wanted: () => options.wanted ?? new Map(),
      withOpenPage: options.open ?? false,
    });
    this.hear({ kind: 'link', ...this.#arrival(), state: 'open', detail: '' });
  }
  #arrival() {
    return { arrival: { utc: utcMs(UTC + this.now), monotonic: monotonicMs(this.now) } };
  }
  readonly #recorded = new Map<number, Uint8Array>();
  #commit(isSynced: boolean): void {
    const made = this.commits.made + 1;
    this.commits = { made, durable: isSynced ? made : this.commits.durable };
  }
  hear(event: CarrierEvent): void {
    if (event.kind === 'log-page') this.#recorded.set(event.page, event.bytes);
    if (event.kind === 'log-page' || event.kind === 'scan') this.#commit(event.kind === 'scan');
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
      firmwareVersion: '0.3.0',
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
      if (wish.wish === 'take-in') {
        this.takeIns += 1;
        if (!wish.isWhole) this.takeInsOfPart += 1;
        if (this.findsReadings) this.#commit(true);
      } else if (wish.wish === 'settle') {
        this.settles += 1;
        if (!this.isStuck) this.#commit(true);
      } else if (wish.wish === 'lost') this.lost.push([wish.first, wish.last]);
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
  /** Answers all until it is asked for the last page kept, and gives that as it was sent in a boot, with so many scans. */
  proves(number: number, boot = 1, scans = 0): void {
    const wanted = `resend ${number.toString(16).toUpperCase().padStart(6, '0')} 0001`;
    for (;;) {
      const sent = this.acts();
      expect(sent).toHaveLength(1);
      this.answers('done', sent[0] === wanted ? '0001' : '00');
      if (sent[0] === wanted) break;
    }
    this.told(page(number, boot, scans));
  }
  /** Answers `done` to everything until it rests. */
  agrees(values: Partial<Record<CommandName, string>> = {}): void {
    for (let sent = this.acts(); sent.length > 0; sent = this.acts())
      this.answers('done', values[sent.at(-1)!.split(' ')[0] as CommandName] ?? '00');
  }
}
export const log = (change: object) => ({
  kind: 'log-state',
  store: 'memory',
  oldest: 1,
  open: 4,
  acknowledged: 0,
  room: 500,
  ...change,
});
export const scan = { kind: 'scan', scan: 1, table: 1, readings: [] };
/** A page of scans of one probe, as a board would send it in a boot: kind in byte 7, boot in 8, scans in 18 (docs/wire-protocol.md). */
const bytesOf = (boot: number, scans = 0) =>
  new Uint8Array(128).fill(0x21, 7, 8).fill(boot, 8, 9).fill(scans, 18, 19);
export const page = (number: number, boot = 1, scans = 0) => ({
  kind: 'log-page',
  page: number,
  bytes: bytesOf(boot, scans),
});
/** Up to where the host asks for pages. */
export function met(table: Table, state: object = {}): Table {
  table.boots();
  expect(table.acts()).toEqual(['identify']);
  table.answers();
  table.told({ kind: 'clock', clock: 'running', utc: utcMs(UTC) });
  table.told(log(state));
  return table;
}
