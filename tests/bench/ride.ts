import { probeIn } from '../../src/emulator/scenarios/carriers.js';
import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact } from '../../src/store/facts.js';
import type { StoredReading } from '../../src/store/store.js';
import {
  parseBoardId,
  parseCarrierId,
  parseCupLabel,
  parseVisitId,
  parseYardCode,
} from '../../src/units/ids.js';
import { between, boardMs, durationMs, later, type UtcMs } from '../../src/units/time.js';

/** An invented ride: two carriers of twelve cups, all loaded within minutes. Nothing here is measured. */
export const PERIOD_MS = 10_000;
const SLOTS = 12;
const LOAD_EVERY_MS = 20_000;
const CARRIERS = [
  { name: 'A', board: '0A1B2C3D' },
  { name: 'B', board: '0A1B2C3E' },
] as const;
const places = CARRIERS.flatMap(({ name, board }) =>
  Array.from({ length: SLOTS }, (_, index) => ({ name, board, slot: index + 1 })),
);

/** The visit and all that was done until every cup was seated. */
export function factsOfRide(begun: UtcMs): Fact[] {
  const visit = parseVisitId('sedge-12-1')!;
  const opened: Fact = {
    type: 'visit-opened',
    visit,
    yard: parseYardCode('sedge-12')!,
    zone: 'Europe/Berlin',
    at: begun,
    active: 'amitraz',
    lot: 'P-1',
    declaredCups: places.length,
    rules: rulesToJson(DEFAULT_RULES),
  };
  const ofPlaces = places.flatMap(({ name, slot }, index): Fact[] => {
    const cup = parseCupLabel(`260512-${String(index + 1).padStart(2, '0')}`)!;
    const at = later(begun, durationMs(index * LOAD_EVERY_MS));
    const carrier = parseCarrierId(name)!;
    const loaded = { cup, visit, kind: 'strip', active: 'amitraz', lot: 'P-1', group: null, at } as const;
    return [
      { type: 'probe-assigned', carrier, slot, rom: probeIn(name, slot), at: begun },
      { type: 'cup-loaded', ...loaded, colony: `c${index + 1}` },
      { type: 'cup-seated', cup, carrier, slot, at: later(at, durationMs(LOAD_EVERY_MS / 2)) },
    ];
  });
  return [opened, ...ofPlaces];
}

/** One scan of both boards: temperatures that waver between 24 and 30 degrees, now and then below the threshold. */
export const scanOf = (scan: number, begun: UtcMs, at: UtcMs): Omit<StoredReading, 'id'>[] =>
  places.map(({ name, board, slot }) => ({
    rom: probeIn(name, slot),
    board: parseBoardId(board)!,
    boot: 1,
    scan,
    slotIndex: slot - 1,
    boardMs: boardMs(between(begun, at)),
    utc: at,
    raw: 16 * 27 + Math.round(48 * Math.sin(scan / 40 + slot)) - (scan % 400 < 5 ? 13 * 16 : 0),
    status: 'ok',
  }));
