import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkBundle } from '../../src/bundle/check.js';
import { type Checkable, checkToGather, gatherBundles } from '../../src/bundle/gather.js';
import { writeBundle } from '../../src/bundle/write.js';
import type { Fact, FactType, RecordedFact } from '../../src/store/facts.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { boardMs, formatInstant, parseInstant, type UtcMs, utcMs } from '../../src/units/time.js';
import { MORNING, morningStore, romOf, writing } from '../bundle/invented.js';
import { type Row, timed } from './row.js';

/** A season of one vehicle: each day the same invented morning of twelve cups, a scan every 20 s, under other names. */
export const STEPS = [2, 20, 200] as const;
const DAY_MS = 24 * 3_600_000;
export const DAILY = { ...MORNING, cups: 12, periodMs: 20_000 };
/** Recorded once, when the vehicle is set up. */
const SET_UP: ReadonlySet<FactType> = new Set(['board-bound', 'probe-assigned', 'ice-checked']);
const NOT_COPIED: ReadonlySet<FactType> = new Set(['store-created', 'hour-sealed']);

const folder = mkdtempSync(join(tmpdir(), 'stillwarm-bundle-bench-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

const visitOf = (day: number): string => `${MORNING.visit}-${day}`;

/** A fact of the first day as that of another; `entry` speaks of the fact that much later in the chain. */
function onDay({ fact }: RecordedFact, day: number, seqOf: ReadonlyMap<number, number>): Fact {
  const later = (at: UtcMs) => utcMs(at + day * DAY_MS);
  const text = (value: unknown) =>
    typeof value === 'string' && value.includes('T') ? formatInstant(later(parseInstant(value)!)) : value;
  return {
    ...fact,
    ...('visit' in fact ? { visit: visitOf(day) } : {}),
    ...('yard' in fact ? { yard: `${fact.yard}-${day}` } : {}),
    ...('cup' in fact ? { cup: `${day}-${fact.cup}` } : {}),
    ...(fact.type === 'entry-corrected'
      ? { entry: seqOf.get(fact.entry)!, old: text(fact.old), new: text(fact.new) }
      : {}),
    at: later(fact.at),
  } as Fact;
}

/** So many visits, each to a yard of its own. */
export async function season(days: number): Promise<Store> {
  const template = morningStore(join(folder, `template-${days}.sqlite`), DAILY);
  const facts = template.facts().filter(({ fact }) => !NOT_COPIED.has(fact.type));
  const roms = Array.from({ length: DAILY.cups }, (_, index) => romOf(DAILY.probe + index));
  const readings = roms.flatMap((rom) =>
    template
      .readings(rom, DAILY.opened, utcMs(DAILY.opened + DAY_MS))
      .map(({ id: _, ...reading }) => reading),
  );
  template.close();
  const store = openStoreToWrite(join(folder, `season-${days}.sqlite`), utcMs(DAILY.opened - DAY_MS));
  for (let day = 0; day < days; day += 1) {
    // The driver lets go of memory only between turns.
    await new Promise(setImmediate);
    store.transaction(() => {
      const seqOf = new Map<number, number>();
      for (const each of facts) {
        if (day > 0 && SET_UP.has(each.fact.type)) continue;
        seqOf.set(each.seq, store.head().count + 1);
        store.append(utcMs(each.recorded + day * DAY_MS), onDay(each, day, seqOf));
      }
      store.addReadings(
        readings.map((reading) => ({
          ...reading,
          scan: reading.scan + day * 1000,
          boardMs: boardMs(reading.boardMs + day * DAY_MS),
          utc: utcMs(reading.utc + day * DAY_MS),
        })),
      );
    });
    const end = utcMs(DAILY.opened + (day + 0.5) * DAY_MS);
    while (store.sealOldest(end, store.lastReading(), end) !== null);
  }
  return store;
}

interface Step {
  readonly store: Store;
  readonly bundle: string;
  readonly written: number;
}
const steps = new Map<number, Step>();
let written = 0;

/** A season of so many visits and its bundle, made once. */
async function stepOf(days: number): Promise<Step> {
  const known = steps.get(days);
  if (known !== undefined) return known;
  const store = await season(days);
  const bundle = join(folder, `bundle-${days}`);
  const { seconds, value } = await timed(() => write(store, days, bundle));
  const bytes = statSync(join(bundle, 'readings.csv')).size;
  process.stderr.write(
    `${days} visits: ${value.cups} cups, ${value.readings} readings, ${(bytes / 2 ** 20).toFixed(0)} MiB of them\n`,
  );
  const step = { store, bundle, written: seconds };
  steps.set(days, step);
  return step;
}

const write = (store: Store, days: number, out: string) =>
  writeBundle(store, writing(out, { visits: Array.from({ length: days }, (_, day) => visitOf(day)) }));

const DOES: Readonly<Record<string, (days: number) => Promise<number>>> = {
  'write as the command does, reports and all': async (days) => {
    const { store, written: first } = await stepOf(days);
    written += 1;
    const out = join(folder, `again-${written}`);
    const { seconds } = await timed(() => write(store, days, out));
    rmSync(out, { recursive: true });
    return Math.min(first, seconds);
  },
  'check, every cup judged and every report made again': async (days) => {
    const { bundle } = await stepOf(days);
    const { seconds, value } = await timed(() => checkBundle(bundle));
    if (value.findings.length > 0 || value.judged !== days * DAILY.cups)
      throw new Error('the check found something');
    return seconds;
  },
  'gather into an empty store, checked first': async (days) => {
    const { bundle } = await stepOf(days);
    const path = join(folder, 'gathered.sqlite');
    rmSync(path, { force: true });
    const store = openStoreToWrite(path, MORNING.opened);
    const { seconds, value } = await timed(async () => {
      const checked: Checkable = await checkToGather(bundle);
      return gatherBundles(store, [checked], () => store.keepText('bench'), MORNING.opened);
    });
    store.close();
    for (const end of ['', '-wal', '-shm']) rmSync(path + end, { force: true });
    if (value.newReadings === 0) throw new Error('nothing was gathered');
    return seconds;
  },
};

export const rows: readonly Row[] = Object.entries(DOES).flatMap(([name, seconds]) =>
  STEPS.slice(1).map((days, index): Row => {
    const fewer = STEPS[index]!;
    return {
      name: `bundle: ${name}, ${days} visits`,
      against: `${fewer} visits, a tenth`,
      aim: { atMost: 15 },
      runs: days > 100 ? 1 : 3,
      measure: async () => ({ other: await seconds(fewer), ours: await seconds(days) }),
    };
  }),
);
