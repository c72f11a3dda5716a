import { afterEach, beforeEach } from 'vitest';
import type { ReadyCup } from '../../../src/plan/planned.js';
import type { Press } from '../../../src/screen/entry/desk.js';
import { type Session, screenSession } from '../../../src/screen/session.js';
import { parseBoardId, type RomId } from '../../../src/units/ids.js';
import { boardMs, durationMs, later, monotonicMs, type UtcMs } from '../../../src/units/time.js';
import { record } from '../../../src/visit/record.js';
import { foldSeason } from '../../../src/visit/season.js';
import { assigns, inventedRom, label, minute } from '../../visit/situation.js';
import { storeInFolder } from '../invented.js';

export const SIZE = { columns: 80, rows: 24 };
export const OPEN = '15\n\nalder-07\n\n\n3\n\n';

/** A desk on a real store of three slots, for each test of a file anew. */
export interface OnDesk {
  now: UtcMs;
  /** Whether the store can be written, and a result be told. */
  isBroken: boolean;
  resultIsGone: boolean;
  readonly folder: ReturnType<typeof storeInFolder>;
  readonly session: Session;
  /** Types a text; `\n` is Enter, `\b` the backspace key. */
  type(text: string): void;
  key(named: Press): boolean;
  shown(size?: typeof SIZE): string;
  season(): ReturnType<typeof foldSeason>;
  cup(name: string): NonNullable<ReturnType<ReturnType<typeof foldSeason>['cups']['get']>>;
  /** The types of all facts. */
  types(): string[];
  /** A probe reads so many degrees, twice a minute, from then on for so many minutes. */
  reads(rom: RomId, degrees: number, since: UtcMs, upTo: number): void;
  /** Opens a visit and loads a cup into slot 1. */
  loadOne(): void;
}

export function eachOnDesk(plan: readonly ReadyCup[] = []): OnDesk {
  let folder: ReturnType<typeof storeInFolder>;
  let session: Session;
  const desk: OnDesk = {
    now: minute(0),
    isBroken: false,
    resultIsGone: false,
    get folder() {
      return folder;
    },
    get session() {
      return session;
    },
    type(text) {
      for (const typed of text)
        session.press(typed === '\n' ? 'enter' : typed === '\b' ? 'backspace' : { typed }, SIZE);
      session.look();
    },
    key: (named) => session.press(named, SIZE),
    shown: (size = SIZE) =>
      session
        .lines(size)
        .map((line) =>
          line
            .map(({ text }) => text)
            .join('')
            .trimEnd(),
        )
        .join('\n'),
    season: () => foldSeason(folder.store.facts()),
    cup: (name) => desk.season().cups.get(label(name))!,
    types: () => folder.store.facts().map(({ fact }) => fact.type),
    reads: (rom, degrees, since, upTo) =>
      folder.store.addReadings(
        Array.from({ length: upTo * 2 + 1 }, (_, index) => ({
          rom,
          board: parseBoardId('0A1B2C3D')!,
          boot: 1,
          scan: index,
          slotIndex: 0,
          boardMs: boardMs(index * 30_000),
          utc: later(since, durationMs(index * 30_000)),
          raw: degrees * 16,
          status: 'ok',
        })),
      ),
    loadOne() {
      desk.type(OPEN);
      desk.type('1\nC-101\n\n7\n1\n\n*');
    },
  };
  beforeEach(() => {
    folder = storeInFolder();
    Object.assign(desk, { now: minute(0), isBroken: false, resultIsGone: false });
    const { store } = folder;
    record(store, desk.now, () => [assigns(1), assigns(2, inventedRom(2)), assigns(3, inventedRom(3))]);
    session = screenSession({
      store,
      now: () => desk.now,
      clock: { utc: () => desk.now, monotonic: () => monotonicMs(desk.now) },
      title: 'stillwarm',
      zone: 'Etc/UTC',
      results: () => [],
      entry: {
        plan,
        zone: 'Etc/UTC',
        who: 'the second of the crew',
        record(make, tell) {
          if (desk.isBroken) throw new Error('disk I/O error');
          const facts = record(store, desk.now, (season) => make(store, season), tell);
          const { count } = store.head();
          return { seqs: facts.map((_fact, index) => count - facts.length + 1 + index) };
        },
        resultOf(visit) {
          if (desk.resultIsGone) throw new Error('the store is gone');
          return `the result of ${visit}`;
        },
      },
    });
    session.look();
  });
  afterEach(() => folder.remove());
  return desk;
}
