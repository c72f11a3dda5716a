import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { hostname } from 'node:os';
import type { Clock } from '../../units/clock.js';
import { type BoardId, parseBoardId, type RomId } from '../../units/ids.js';
import type { CelsiusDifference } from '../../units/temperature.js';
import { type BoardMs, boardMs } from '../../units/time.js';
import type { CarrierEvent, DiscardReason, LinkEvent, ProbeReading } from '../events.js';

/**
 * What a source without memory and clock says in place of a board: the host's clock is its counter, and every time it
 * is reached anew, or its parts restarted, is a boot of its own. Nothing is known of what happened in between.
 */
export interface HostBoard {
  readonly board: BoardId;
  link(state: LinkEvent['state'], detail: string): void;
  /** Counts what came and could not be used. */
  discard(reason: DiscardReason, bytes: number): void;
  /** Begins a boot; what was known of probes is forgotten. */
  begin(): void;
  /** The counter of this boot. */
  now(): BoardMs;
  /** Says that it is there, and how the counter stands. */
  beat(): void;
  /** Tells the probes when they are others than before. Each keeps its index for as long as the boot lasts. */
  probes(found: readonly FoundProbe[]): void;
  /** Probes told in this boot, in the order of their indices. */
  known(): readonly RomId[];
  /** Begins a scan: the next one has the next number. */
  nextScan(): void;
  /** Says what probes read, with when they began to convert; part of the present scan. */
  scan(began: BoardMs, values: readonly Value[]): void;
}

export interface FoundProbe {
  readonly rom: RomId;
  /** Its standard uncertainty, when it is another than a DS18B20's. */
  readonly uncertainty?: CelsiusDifference;
}
export type Value = Pick<ProbeReading, 'rom' | 'raw' | 'status'>;

/** What a host source needs besides its wires. */
export interface HostParts {
  readonly clock: Clock;
  /** The number of a boot that begins now: above every one that is on record of this board. */
  readonly nextBoot: (board: BoardId) => number;
}

/** These know no commands. */
const PROTOCOL = 0;
const MACHINE_ID = '/etc/machine-id';

/**
 * @param identity what tells this source apart from others, on this computer and elsewhere
 * @param firmware what is at the other end, in a word
 */
export function hostBoard(
  { clock, nextBoot }: HostParts,
  identity: readonly string[],
  firmware: () => string,
  onEvent: (event: CarrierEvent) => void,
): HostBoard {
  const board = hostBoardId(identity);
  const arrival = () => ({ utc: clock.utc(), monotonic: clock.steady() });
  let zero = clock.steady();
  const ruler = () => boardMs(Math.round(clock.steady() - zero));
  let bootCount = 0;
  let table = 0;
  let scan = 0;
  let indices = new Map<RomId, number>();
  const uncertainties = new Map<RomId, CelsiusDifference>();
  /** Probes whose next value is their first one: whatever they hold may be of long ago. */
  let fresh = new Set<RomId>();
  const told = (at: BoardMs) => ({ arrival: arrival(), boardMs: at, board, bootCount });

  return {
    board,
    link: (state, detail) => onEvent({ kind: 'link', arrival: arrival(), state, detail }),
    discard: (reason, bytes) => onEvent({ kind: 'discarded', arrival: arrival(), reason, bytes }),
    begin() {
      zero = clock.steady();
      bootCount = nextBoot(board);
      [table, scan] = [0, 0];
      indices = new Map();
      fresh = new Set();
      onEvent({
        kind: 'boot',
        ...told(ruler()),
        resetCause: 'unknown',
        firmwareVersion: firmware(),
        protocolVersion: PROTOCOL,
        clock: 'absent',
      });
    },
    now: () => ruler(),
    beat: () => onEvent({ kind: 'heartbeat', ...told(ruler()) }),
    probes(found) {
      const added = found.filter(({ rom }) => !indices.has(rom));
      if (added.length === 0 && table > 0) return;
      for (const { rom, uncertainty } of added) {
        indices.set(rom, indices.size);
        fresh.add(rom);
        if (uncertainty !== undefined) uncertainties.set(rom, uncertainty);
      }
      table += 1;
      const probes = [...indices].map(([rom, index]) => {
        const uncertainty = uncertainties.get(rom);
        return uncertainty === undefined ? { index, rom } : { index, rom, uncertainty };
      });
      onEvent({ kind: 'probes', ...told(ruler()), table, probes });
    },
    known: () => [...indices.keys()],
    nextScan() {
      scan += 1;
    },
    scan(began, values) {
      const readings = values.map((value): ProbeReading => {
        const status = value.status === 'ok' && fresh.has(value.rom) ? 'first-conversion' : value.status;
        if (converted(value)) fresh.delete(value.rom);
        else if (hasRestarted(value)) fresh.add(value.rom);
        return { ...value, status, index: indices.get(value.rom)! };
      });
      if (readings.length > 0) onEvent({ kind: 'scan', ...told(began), scan, table, readings });
    },
  };
}

const converted = ({ status }: Value): boolean => status === 'ok' || status === 'bad-configuration';
const hasRestarted = ({ status }: Value): boolean =>
  status === 'missing' || status === 'restarted' || status === 'not-converted';

/**
 * Eight hex digits that stay the same as long as machine and place do. The machine's own id is only ever used hashed,
 * as its documentation asks.
 */
export function hostBoardId(identity: readonly string[]): BoardId {
  const text = JSON.stringify(['stillwarm', machine(), ...identity]);
  return parseBoardId(createHash('sha256').update(text).digest('hex').slice(0, 8).toUpperCase())!;
}

function machine(): string {
  try {
    const id = readFileSync(MACHINE_ID, 'utf8').trim();
    if (id !== '') return id;
  } catch {
    // Not every system has one.
  }
  return hostname();
}
