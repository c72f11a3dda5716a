import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { probeIn } from '../../src/emulator/scenarios/carriers.js';
import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact } from '../../src/store/facts.js';
import { openStoreToWrite, type Store, type StoredReading } from '../../src/store/store.js';
import {
  parseBoardId,
  parseCarrierId,
  parseCupLabel,
  parseVisitId,
  parseYardCode,
} from '../../src/units/ids.js';
import { boardMs, later, minutes, type UtcMs, utcMs } from '../../src/units/time.js';

/** An invented morning in an invented yard; nothing here is measured. */
export const SEVEN = utcMs(Date.UTC(2026, 4, 12, 5));
/** So many minutes after seven. */
export const at = (minute: number): UtcMs => later(SEVEN, minutes(minute));

export const visit = parseVisitId('sedge-12-1')!;
export const carrier = (name: string) => parseCarrierId(name)!;
export const label = (name: string) => parseCupLabel(name)!;
export type CarrierName = 'A' | 'B';

export const visitOpened = (zone = 'Europe/Berlin'): Fact => ({
  type: 'visit-opened',
  visit,
  yard: parseYardCode('sedge-12')!,
  zone,
  at: SEVEN,
  active: 'amitraz',
  lot: 'P-1',
  declaredCups: 10,
  rules: rulesToJson(DEFAULT_RULES),
});

export const probeAssigned = (name: CarrierName, slot: number, minute = 0): Fact => ({
  type: 'probe-assigned',
  carrier: carrier(name),
  slot,
  rom: probeIn(name, slot),
  at: at(minute),
});

export const loaded = (cup: string, minute: number): Fact => ({
  type: 'cup-loaded',
  visit,
  cup: label(cup),
  kind: 'strip',
  active: 'amitraz',
  lot: 'P-1',
  colony: 'c01',
  group: null,
  at: at(minute),
});
export const seated = (cup: string, name: CarrierName, slot: number, minute: number): Fact => ({
  type: 'cup-seated',
  cup: label(cup),
  carrier: carrier(name),
  slot,
  at: at(minute),
});
export const lifted = (cup: string, minute: number): Fact => ({
  type: 'cup-lifted',
  cup: label(cup),
  at: at(minute),
});
export const turned = (cup: string, minute: number): Fact => ({
  type: 'cup-turned',
  cup: label(cup),
  at: at(minute),
});

/** A reading of a slot's probe; a scan number of its own for each half second. */
export function reading(
  name: CarrierName,
  slot: number,
  minute: number,
  degrees: number,
  status = 'ok',
): Omit<StoredReading, 'id'> {
  return {
    rom: probeIn(name, slot),
    board: parseBoardId(name === 'A' ? '0A1B2C3D' : '0A1B2C3E')!,
    boot: 1,
    scan: Math.round(minute * 120),
    slotIndex: slot - 1,
    boardMs: boardMs(minute * 60_000),
    utc: at(minute),
    raw: status === 'ok' ? Math.round(degrees * 16) : null,
    status,
  };
}

/** Readings every half minute, both ends included. */
export const readings = (
  name: CarrierName,
  slot: number,
  from: number,
  to: number,
  degrees: (minute: number) => number,
): Omit<StoredReading, 'id'>[] =>
  Array.from({ length: Math.floor((to - from) * 2) + 1 }, (_, i) =>
    reading(name, slot, from + i / 2, degrees(from + i / 2)),
  );

/** A real store in a folder of its own. */
export function storeInFolder(): { store: Store; path: string; remove(): void } {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-screen-'));
  const path = join(folder, 'season.sqlite');
  const store = openStoreToWrite(path, SEVEN);
  return {
    store,
    path,
    remove() {
      store.close();
      rmSync(folder, { recursive: true });
    },
  };
}

/** The situation that the frames are tested with, at 181 minutes after seven. */
export const SHOWN_AT = at(181);
export function fillStore(store: Store): void {
  store.transaction(() => {
    const warm = () => 27.5;
    store.append(
      SEVEN,
      visitOpened(),
      ...[1, 2, 3, 4, 5, 6].map((slot) => probeAssigned('A', slot)),
      ...[1, 2].map((slot) => probeAssigned('B', slot)),
      loaded('260512-01', 60),
      seated('260512-01', 'A', 1, 62),
      loaded('260512-02', 62),
      seated('260512-02', 'A', 2, 64),
      loaded('260512-03', 64),
      seated('260512-03', 'A', 3, 66),
      loaded('260512-04', 1),
      seated('260512-04', 'A', 4, 2),
      loaded('260512-05', 68),
      seated('260512-05', 'A', 5, 70),
      loaded('260512-06', 70),
      seated('260512-06', 'B', 1, 72),
      lifted('260512-06', 180),
    );
    store.addReadings([
      ...readings('A', 1, 60, 181, warm),
      ...readings('A', 2, 60, 181, (minute) => (minute > 180 ? 16 : 27)),
      ...readings('A', 3, 60, 181, (minute) => (minute > 178 ? 12.5 : 26)),
      ...readings('A', 4, 0, 181, warm),
      ...readings('A', 5, 60, 177, warm),
      ...readings('A', 6, 60, 181, () => 28.3),
      ...readings('B', 1, 60, 181, warm),
      ...readings('B', 2, 60, 181, () => -0.4),
    ]);
  });
}
