import type { BoardCommand } from '../carrier/wire/command.js';
import type { BoardId, RomId } from '../units/ids.js';
import { later, minutes, type UtcMs, utcMs } from '../units/time.js';
import { offsetOf } from '../visit/commissioned.js';
import { isExposed, placeNow } from '../visit/cup.js';
import type { Season } from '../visit/season.js';
import { probeIn } from '../visit/slots.js';

/** What a board should watch in one slot: limits in sixteenths of a degree Celsius, and when its cup is due. */
export interface SlotSetting {
  readonly rom: RomId;
  readonly cold: number | null;
  readonly hot: number | null;
  readonly due: UtcMs | null;
}

/** The slots of the carrier that a board is built into, with the cups that sit in them now. */
export function wantedSlots(season: Season, board: BoardId, now: UtcMs): Map<number, SlotSetting> {
  const wanted = new Map<number, SlotSetting>();
  for (const cup of season.cups.values()) {
    const place = isExposed(cup) ? placeNow(cup) : null;
    const carrier = place ? season.carriers.get(place.carrier) : undefined;
    if (!place || carrier?.board !== board) continue;
    const rom = probeIn(carrier, place.slot, now);
    const rules = season.visits.get(cup.visit)?.rules;
    if (rom === null || !rules) continue;
    const offset = offsetOf(season.commissioned, rom, now);
    const due = later(cup.load, minutes(rules.exposureMinutes));
    wanted.set(place.slot, {
      rom,
      // The board compares raw whole sixteenths: the first one that is not cold, the last one that is not hot.
      cold: Math.ceil((rules.thresholdCelsius + offset) * 16),
      hot: Math.floor((rules.hotCelsius + offset) * 16),
      due: utcMs(Math.round(due / 1000) * 1000),
    });
  }
  return wanted;
}

/**
 * The next commands towards what a board's slots should be, in order; none when they are so. A due time follows when
 * the limits of its slot are set.
 */
export function slotCommands(
  wanted: ReadonlyMap<number, SlotSetting>,
  set: ReadonlyMap<number, SlotSetting>,
): BoardCommand[] {
  const commands: BoardCommand[] = [];
  for (const slot of set.keys())
    if (!wanted.has(slot)) commands.push({ name: 'limits', slot, rom: null, cold: null, hot: null });
  for (const [slot, { rom, cold, hot, due }] of wanted) {
    const now = set.get(slot);
    if (now?.rom !== rom || now.cold !== cold || now.hot !== hot)
      commands.push({ name: 'limits', slot, rom, cold, hot });
    // The board takes a due time only for a probe that it knows.
    if (now?.rom === rom && now.due !== due) commands.push({ name: 'due', slot, due });
  }
  return commands;
}

/** What a slot is set to after a command was done. */
export function afterSlotCommand(
  set: ReadonlyMap<number, SlotSetting>,
  command: BoardCommand,
): Map<number, SlotSetting> {
  const next = new Map(set);
  if (command.name === 'limits') {
    const { slot, rom, cold, hot } = command;
    if (rom === null) next.delete(slot);
    else next.set(slot, { rom, cold, hot, due: set.get(slot)?.rom === rom ? set.get(slot)!.due : null });
  }
  const known = command.name === 'due' ? set.get(command.slot) : undefined;
  if (command.name === 'due' && known) next.set(command.slot, { ...known, due: command.due });
  return next;
}
