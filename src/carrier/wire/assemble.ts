import type { BoardId, RomId } from '../../units/ids.js';
import type { Arrival, CarrierEvent, DiscardReason } from '../events.js';
import type { BootFrame, Frame, ProbesFrame, ScanFrame } from './codec.js';
import { LOG_PAGE_BYTES, LOG_PART_BYTES } from './frames.js';
import { isPage } from './logPage.js';

/** What has been learnt of the board at the other end of one connection. */
export interface Known {
  readonly board: { readonly id: BoardId; readonly bootCount: number } | null;
  readonly lastSequence: number | null;
  /** Whether it was said that lines come more than once. */
  readonly isRepeatSaid: boolean;
  readonly table: {
    readonly number: number;
    readonly roms: ReadonlyMap<number, RomId>;
    readonly count: number;
  } | null;
  /** The page of the log of which parts have come. */
  readonly page: { readonly number: number; readonly parts: ReadonlyMap<number, Uint8Array> } | null;
}

export const NOTHING_KNOWN: Known = {
  board: null,
  lastSequence: null,
  isRepeatSaid: false,
  table: null,
  page: null,
};

const SEQUENCES = 0x1_0000;
/** A line so little behind the last one came a second time; further behind, many were lost. */
const REPEATED_WITHIN = 256;
const PARTS = LOG_PAGE_BYTES / LOG_PART_BYTES;

/**
 * The next state and what to tell the logger, for one frame. Pure. A line is believed only under the boot
 * it names: after a reset nothing counts until the board has said who it is, and a scan counts only under
 * the table whose number it carries, so that a value can never land on a neighbour's probe.
 */
export function assemble(
  known: Known,
  frame: Frame,
  arrival: Arrival,
  bytes: number,
): { readonly known: Known; readonly events: readonly CarrierEvent[] } {
  const discard = (reason: DiscardReason): CarrierEvent => ({ kind: 'discarded', arrival, reason, bytes });
  if (frame.kind === 'discarded') return { known, events: [discard(frame.reason)] };
  if (isRepeated(known, frame))
    return {
      known: { ...known, isRepeatSaid: true },
      events: [...(known.isRepeatSaid ? [] : [repeatNote(arrival)]), discard('repeated')],
    };
  if (frame.kind === 'boot') return boot(known, frame, arrival);
  if (frame.kind === 'answer') return answer(known, frame, arrival);
  if (known.board === null || known.board.bootCount !== frame.bootCount)
    return { known: NOTHING_KNOWN, events: [discard('before-boot')] };

  const lost = lostLines(known, frame.sequence, arrival);
  const next = { ...known, lastSequence: frame.sequence };
  const { id: board, bootCount } = known.board;
  switch (frame.kind) {
    case 'heartbeat':
      return {
        known: next,
        events: [...lost, { kind: 'heartbeat', arrival, boardMs: frame.boardMs, board, bootCount }],
      };
    case 'probes': {
      const table = mergeTable(known.table, frame);
      const complete = table.roms.size === table.count && !isComplete(known.table, frame.table);
      const probes = [...table.roms]
        .map(([index, rom]) => ({ index, rom }))
        .sort((a, b) => a.index - b.index);
      return {
        known: { ...next, table },
        events: complete
          ? [
              ...lost,
              {
                kind: 'probes',
                arrival,
                boardMs: frame.boardMs,
                board,
                bootCount,
                table: table.number,
                probes,
              },
            ]
          : lost,
      };
    }
    case 'scan':
      return {
        known: next,
        events: [...lost, scan(known, frame, arrival, board) ?? discard('unknown-table')],
      };
    case 'log-part': {
      const step = collect(known.page, frame);
      const told = { arrival, boardMs: frame.boardMs, board, bootCount };
      return {
        known: { ...next, page: step.page },
        events: [
          ...lost,
          ...(step.damaged ? [discard('damaged-page')] : []),
          ...(step.whole
            ? [{ kind: 'log-page', ...told, page: frame.page, bytes: step.whole } as const]
            : []),
        ],
      };
    }
    default: {
      const { sequence: _sequence, ...said } = frame;
      return { known: next, events: [...lost, { ...said, arrival, board }] };
    }
  }
}

function boot(known: Known, frame: BootFrame, arrival: Arrival): ReturnType<typeof assemble> {
  const same = known.board?.id === frame.board && known.board.bootCount === frame.bootCount;
  const next: Known = {
    board: { id: frame.board, bootCount: frame.bootCount },
    lastSequence: frame.sequence,
    isRepeatSaid: known.isRepeatSaid,
    table: same ? known.table : null,
    page: same ? known.page : null,
  };
  const { kind: _kind, sequence: _sequence, ...said } = frame;
  return {
    known: next,
    events: [
      ...(same ? lostLines(known, frame.sequence, arrival) : []),
      ...(same ? [] : [{ kind: 'boot', arrival, ...said } as const]),
    ],
  };
}

/** An answer is for whoever asked, also before the board has said who it is. */
function answer(
  known: Known,
  frame: Extract<Frame, { kind: 'answer' }>,
  arrival: Arrival,
): ReturnType<typeof assemble> {
  const { bootCount, sequence, boardMs: _boardMs, ...said } = frame;
  const isOfThisBoot = known.board?.bootCount === bootCount;
  return {
    known: isOfThisBoot ? { ...known, lastSequence: sequence } : known,
    events: [...(isOfThisBoot ? lostLines(known, sequence, arrival) : []), { ...said, arrival }],
  };
}

/** Adds a part to its page. A page whose parts do not all come, or whose sum is wrong, is damaged. */
function collect(
  page: Known['page'],
  frame: Extract<Frame, { kind: 'log-part' }>,
): { readonly page: Known['page']; readonly whole: Uint8Array | null; readonly damaged: boolean } {
  const isNew = page === null || page.number !== frame.page || frame.part === 0;
  const left = isNew && page !== null;
  const parts = new Map(isNew ? [] : page.parts).set(frame.part, frame.bytes);
  if (frame.part < PARTS - 1) return { page: { number: frame.page, parts }, whole: null, damaged: left };
  const bytes = Buffer.concat(
    Array.from({ length: PARTS }, (_, part) => parts.get(part) ?? new Uint8Array()),
  );
  const isWhole = bytes.length === LOG_PAGE_BYTES && isPage(bytes, frame.page);
  return { page: null, whole: isWhole ? Uint8Array.from(bytes) : null, damaged: left || !isWhole };
}

/** How many lines ago this one came before, 0 for the last one; as a board counts them within a boot. */
const linesAgo = (last: number, sequence: number): number => (last - sequence + SEQUENCES) % SEQUENCES;

/** Whether a line of this boot came before. A board that says who it is anew may have begun to count again. */
function isRepeated(known: Known, frame: Exclude<Frame, { kind: 'discarded' }>): boolean {
  const { board, lastSequence } = known;
  if (board === null || lastSequence === null || board.bootCount !== frame.bootCount) return false;
  if (frame.kind === 'boot') return frame.board === board.id && frame.sequence === lastSequence;
  return linesAgo(lastSequence, frame.sequence) < REPEATED_WITHIN;
}

const repeatNote = (arrival: Arrival): CarrierEvent => ({
  kind: 'link',
  arrival,
  state: 'note',
  detail:
    'a line came twice; such lines are counted as repeated and left out, look at the cable, adapter or hub',
});

function lostLines(known: Known, sequence: number, arrival: Arrival): CarrierEvent[] {
  if (known.lastSequence === null || linesAgo(known.lastSequence, sequence) < REPEATED_WITHIN) return [];
  const lost = (sequence - known.lastSequence - 1 + SEQUENCES) % SEQUENCES;
  if (lost === 0) return [];
  return [
    { kind: 'link', arrival, state: 'lost-lines', detail: `${lost} line${lost === 1 ? '' : 's'} lost` },
  ];
}

const isComplete = (table: Known['table'], number: number): boolean =>
  table?.number === number && table.roms.size === table.count;

function mergeTable(table: Known['table'], frame: ProbesFrame): NonNullable<Known['table']> {
  const before = table?.number === frame.table && table.count === frame.count ? table.roms : [];
  const roms = new Map<number, RomId>([
    ...before,
    ...frame.entries.map(({ index, rom }): [number, RomId] => [index, rom]),
  ]);
  return { number: frame.table, count: frame.count, roms };
}

function scan(known: Known, frame: ScanFrame, arrival: Arrival, board: BoardId): CarrierEvent | null {
  if (!isComplete(known.table, frame.table)) return null;
  const roms = known.table!.roms;
  const readings = frame.entries.flatMap(({ index, status, raw }) => {
    const rom = roms.get(index);
    return rom ? [{ rom, index, status, raw }] : [];
  });
  if (readings.length < frame.entries.length) return null;
  return {
    kind: 'scan',
    arrival,
    boardMs: frame.boardMs,
    board,
    bootCount: frame.bootCount,
    scan: frame.scan,
    table: frame.table,
    readings,
  };
}
