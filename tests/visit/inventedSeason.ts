import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact } from '../../src/store/facts.js';
import type { Store } from '../../src/store/store.js';
import { parseBoardId, parseVisitId, parseYardCode } from '../../src/units/ids.js';
import { boardMs } from '../../src/units/time.js';
import { assigns, inventedRom, label, minute, seats, turns } from './situation.js';

export interface InventedCup {
  readonly tray: number | null;
  readonly wash: number | null;
  readonly isCold?: boolean;
  readonly lot?: string;
  readonly kind?: 'strip' | 'no-strip';
  readonly by?: string;
}

/** Minutes between the first loads of two visits. */
const VISIT_EVERY = 300;
const EXPOSURE = 180;

/** A visit with its cups, one a slot, all loaded in its first minute: the `index`th of the season. */
export function addVisit(
  store: Store,
  index: number,
  yard: string,
  cups: readonly InventedCup[],
  rules = DEFAULT_RULES,
  declaredCups: number | null = cups.length,
): void {
  const visit = parseVisitId(`v${index}`)!;
  const start = index * VISIT_EVERY;
  const board = parseBoardId('0A1B2C3D')!;
  store.transaction(() => {
    const facts: Fact[] = [
      {
        type: 'visit-opened',
        visit,
        yard: parseYardCode(yard)!,
        zone: 'Etc/UTC',
        at: minute(start),
        active: 'amitraz strip',
        lot: null,
        declaredCups,
        rules: rulesToJson(rules),
      },
    ];
    for (const [place, { kind = 'strip', lot = 'L1', by, tray, wash }] of cups.entries()) {
      const cup = `c${index}-${place + 1}`;
      const isStrip = kind === 'strip';
      facts.push(
        assigns(place + 1, inventedRom(place + 1), start - 10),
        {
          type: 'cup-loaded',
          visit,
          cup: label(cup),
          kind,
          active: isStrip ? 'amitraz strip' : null,
          lot: isStrip ? lot : null,
          colony: null,
          group: null,
          at: minute(start),
          ...(by === undefined ? {} : { who: store.keepText(by) }),
        },
        seats(cup, place + 1, start),
        turns(cup, start + EXPOSURE),
      );
      if (tray !== null || wash !== null)
        facts.push({
          type: 'cup-counted',
          cup: label(cup),
          tray,
          wash,
          bees: 300,
          at: minute(start + EXPOSURE + 20),
        });
    }
    store.append(minute(start), ...facts);
    store.addReadings(
      cups.flatMap(({ isCold = false }, place) =>
        Array.from({ length: EXPOSURE + 1 }, (_, at) => ({
          rom: inventedRom(place + 1),
          board,
          boot: 1,
          scan: start + at,
          slotIndex: place,
          boardMs: boardMs((start + at) * 60_000),
          utc: minute(start + at),
          raw: (isCold && at > 30 && at < 70 ? 12 : 27) * 16,
          status: 'ok',
        })),
      ),
    );
  });
}

/** Cups of which so many mites fell and stayed. */
export const counted = (
  pairs: readonly (readonly [number, number])[],
  more: Partial<InventedCup> = {},
): InventedCup[] => pairs.map(([tray, wash]) => ({ tray, wash, ...more }));
