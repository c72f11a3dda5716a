import { writeBundle } from '../../src/bundle/write.js';
import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact } from '../../src/store/facts.js';
import { openStoreToWrite, type Store, type StoredReading } from '../../src/store/store.js';
import {
  crc8,
  parseBoardId,
  parseCarrierId,
  parseCupLabel,
  parseRomId,
  parseVisitId,
  parseYardCode,
} from '../../src/units/ids.js';
import { installedVersion } from '../../src/units/installed.js';
import { celsiusDifference } from '../../src/units/temperature.js';
import { boardMs, formatInstant, type UtcMs, utcMs } from '../../src/units/time.js';
import { record } from '../../src/visit/record.js';

/** An invented vehicle's morning at one yard: all in it follows from these. */
export interface Morning {
  readonly visit: string;
  readonly yard: string;
  /** When the visit is opened. */
  readonly opened: UtcMs;
  /** Begins the labels of its cups. */
  readonly label: string;
  /** Serial of its first probe; the others follow. */
  readonly probe: number;
  readonly board: string;
  readonly boot: number;
  readonly cups: number;
  /** Between two scans. */
  readonly periodMs: number;
}

export const MORNING: Morning = {
  visit: 'alder-1',
  yard: 'alder-07',
  opened: utcMs(Date.UTC(2026, 4, 12, 12)),
  label: 'a',
  probe: 1,
  board: '0A1B2C3D',
  boot: 1,
  cups: 6,
  periodMs: 30_000,
};

const CARRIER = parseCarrierId('A')!;
const minuteOf = ({ opened }: Morning, count: number): UtcMs => utcMs(opened + count * 60_000);
export const cupOf = ({ label }: Morning, index: number) => parseCupLabel(`${label}${index + 1}`)!;

/** A ROM id in the pattern of genuine ones, its CRC by our own `crc8`. */
export const romOf = (serial: number) => {
  const bytes = [0x28, serial, 0x9b, 0xbb, 0x0b, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
};

const put = (store: Store, now: UtcMs, ...facts: readonly object[]) =>
  record(store, now, () => facts as Fact[]);

/** Sets a vehicle up: its probes, and an ice check of the first. */
export function commission(store: Store, morning: Morning): void {
  const at = minuteOf(morning, -60);
  const board = parseBoardId(morning.board)!;
  put(
    store,
    at,
    { type: 'board-bound', carrier: CARRIER, board, at },
    ...Array.from({ length: morning.cups }, (_, index) => ({
      type: 'probe-assigned',
      carrier: CARRIER,
      slot: index + 1,
      rom: romOf(morning.probe + index),
      at,
    })),
    {
      type: 'ice-checked',
      rom: romOf(morning.probe),
      board,
      offset: celsiusDifference(0.071),
      uncertainty: celsiusDifference(0.103),
      standardDeviation: celsiusDifference(0.02),
      readings: 20,
      who: store.keepText('Crew One'),
      at,
    },
  );
}

export function openVisit(store: Store, morning: Morning): void {
  put(store, morning.opened, {
    type: 'visit-opened',
    visit: parseVisitId(morning.visit)!,
    yard: parseYardCode(morning.yard)!,
    zone: 'Etc/UTC',
    at: morning.opened,
    active: 'amitraz strip',
    lot: 'batch 7 of the fen shop',
    declaredCups: morning.cups,
    rules: rulesToJson({ ...DEFAULT_RULES, name: 'marsh-lab', version: 'marsh-2' }),
    piece: '=1 in x 1 in',
    who: store.keepText('Crew One'),
  });
}

/** Loads, seats and turns every cup; the second last is spoiled. */
export function ride(store: Store, morning: Morning): void {
  const visit = parseVisitId(morning.visit)!;
  const turn = minuteOf(morning, 184 + morning.cups);
  for (let index = 0; index < morning.cups; index += 1) {
    const cup = cupOf(morning, index);
    const at = minuteOf(morning, 5 + index);
    put(
      store,
      at,
      {
        type: 'cup-loaded',
        visit,
        cup,
        kind: index === morning.cups - 1 ? 'no-strip' : 'strip',
        active: 'amitraz strip',
        lot: 'batch 7 of the fen shop',
        colony: `=${index + 1}`,
        group: '-line',
        at,
      },
      { type: 'cup-seated', cup, carrier: CARRIER, slot: index + 1, at: utcMs(at + 30_000) },
    );
  }
  put(
    store,
    turn,
    ...Array.from({ length: morning.cups }, (_, index) => ({
      type: 'cup-turned',
      cup: cupOf(morning, index),
      at: minuteOf(morning, 185 + index),
    })),
    {
      type: 'cup-spoiled',
      cup: cupOf(morning, morning.cups - 2),
      at: turn,
      why: store.keepText('lid came off'),
      replacedBy: cupOf(morning, morning.cups - 1),
      who: store.keepText('Crew One'),
    },
  );
}

/** The scans of a morning, and its finished hours sealed but the last. The second cup is cold for a while. */
export function scans(store: Store, morning: Morning): void {
  const { board, boot, cups, periodMs, opened } = morning;
  const all: Omit<StoredReading, 'id'>[] = [];
  for (let scan = 1; scan * periodMs <= 200 * 60_000; scan += 1)
    for (let index = 0; index < cups; index += 1) {
      const minute = (scan * periodMs) / 60_000;
      const isCold = index === 1 && minute > 60 && minute < 90;
      all.push({
        rom: romOf(morning.probe + index),
        board: parseBoardId(board)!,
        boot,
        scan,
        slotIndex: index,
        boardMs: boardMs(scan * periodMs + 77),
        utc: utcMs(opened + scan * periodMs),
        raw: scan % 97 === 5 ? null : (isCold ? 200 : 470) + ((scan * 7 + index) % 23),
        status: scan % 97 === 5 ? 'missing' : 'ok',
      });
    }
  store.transaction(() => store.addReadings(all));
  while (store.sealOldest(minuteOf(morning, 185), store.lastReading(), minuteOf(morning, 200)) !== null);
}

/** Rulings put on record, then counts: all but the third cup's wash, one of them corrected. */
export function count(
  store: Store,
  morning: Morning,
  fields: readonly string[] = ['tray', 'wash', 'bees'],
): void {
  const at = minuteOf(morning, 240);
  const has = (field: string, value: number) => (fields.includes(field) ? value : null);
  const turned = Array.from({ length: morning.cups }, (_, index) => index);
  put(
    store,
    at,
    ...(fields.includes('tray')
      ? turned.map((index) => ({
          type: 'cup-ruled',
          cup: cupOf(morning, index),
          ruling: index === 1 ? 'cold' : index === morning.cups - 2 ? 'spoiled' : 'valid',
          reasons: [],
          at,
        }))
      : []),
    ...turned
      .map((index) => ({
        type: 'cup-counted',
        cup: cupOf(morning, index),
        at,
        tray: has('tray', index === morning.cups - 1 ? 1 : 7 + index),
        wash: index === 2 ? null : has('wash', 3),
        bees: has('bees', 300 + index),
      }))
      .filter(({ tray, wash, bees }) => tray !== null || wash !== null || bees !== null),
  );
  if (!fields.includes('tray')) return;
  put(store, utcMs(at + 60_000), {
    type: 'count-corrected',
    cup: cupOf(morning, 0),
    field: 'tray',
    old: 7,
    new: 8,
    why: store.keepText('miscounted, "twice"'),
    who: store.keepText('Crew Two'),
    at: utcMs(at + 60_000),
  });
  put(store, utcMs(at + 120_000), {
    type: 'entry-corrected',
    cup: cupOf(morning, 3),
    entry: store.everyFact().find(({ fact }) => fact.type === 'cup-loaded' && fact.cup === cupOf(morning, 3))!
      .seq,
    field: 'at',
    old: formatInstant(minuteOf(morning, 8)),
    new: formatInstant(minuteOf(morning, 7)),
    why: store.keepText('the card says so'),
    at: utcMs(at + 120_000),
  });
  put(store, utcMs(at + 180_000), {
    type: 'cup-overruled',
    cup: cupOf(morning, 1),
    ruling: 'valid',
    why: store.keepText('+probe was outside'),
    who: store.keepText('Crew Two'),
    at: utcMs(at + 180_000),
  });
}

/** A whole morning in a store of its own. */
export function morningStore(path: string, morning: Morning = MORNING): Store {
  const store = openStoreToWrite(path, minuteOf(morning, -120));
  commission(store, morning);
  openVisit(store, morning);
  ride(store, morning);
  scans(store, morning);
  count(store, morning);
  return store;
}

/** What the tests of bundles write one with. */
export const writing = (out: string, more: object = {}) => ({
  visits: [MORNING.visit],
  out,
  withPeople: false,
  isPublic: false,
  asParquet: false,
  writtenBy: installedVersion(),
  now: minuteOf(MORNING, 600),
  ...more,
});

/** Writes one, and gives its folder. */
export async function bundleOf(store: Store, out: string, more: object = {}): Promise<string> {
  await writeBundle(store, writing(out, more));
  return out;
}
