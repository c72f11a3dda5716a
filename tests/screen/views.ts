import { probeIn } from '../../src/emulator/scenarios/carriers.js';
import type { LiveState } from '../../src/exposure/live.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { parseYardCode } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs } from '../../src/units/time.js';
import type { CupView, SlotView } from '../../src/visit/slots.js';
import { carrier, label, SEVEN, visit } from './invented.js';

/** Views made by hand, for what no store need be filled for: a warm cup, 59 minutes before it is due. */
const LATEST = { celsius: celsius(27.5), age: durationMs(3000) };
const WARM: LiveState = {
  latest: LATEST,
  word: 'warm',
  ruledAlready: null,
  coldMinutes: { certain: 0, possible: 0 },
  coldMinutesLeft: 5,
  coldInMinutes: null,
  advice: null,
  minutesToDue: 59,
  minutesToLong: 74,
  alarm: null,
};

export const cupView = (
  given: { cup?: string; state?: Partial<LiveState>; spoiled?: boolean } = {},
): CupView => ({
  cup: {
    cup: label(given.cup ?? '260512-01'),
    visit,
    kind: 'strip',
    active: null,
    lot: null,
    colony: null,
    group: null,
    load: SEVEN,
    turn: null,
    places: [],
    spoiled: given.spoiled ? { at: SEVEN, why: '', afterCounts: false, replacedBy: null } : null,
    counts: { tray: null, wash: null, bees: null },
    ruled: [],
    overruled: null,
    loadWithin: durationMs(0),
    turnWithin: durationMs(0),
    washes: [],
    bees: null,
    dead: null,
    notes: [],
    entries: [],
    changes: [],
  },
  visit: {
    visit,
    yard: parseYardCode('sedge-12')!,
    zone: 'UTC',
    opened: SEVEN,
    closed: null,
    active: null,
    lot: null,
    declaredCups: null,
    rules: DEFAULT_RULES,
  },
  state: { ...WARM, ...given.state },
});

export const slotView = (
  given: Partial<Omit<SlotView, 'carrier'>> & { carrier?: string } = {},
): SlotView => ({
  slot: 1,
  rom: probeIn('A', 1),
  latest: LATEST,
  cup: null,
  ...given,
  carrier: carrier(given.carrier ?? 'A'),
});
