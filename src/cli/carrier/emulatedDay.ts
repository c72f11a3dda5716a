import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { Command } from 'commander';
import type { EmulatedSource } from '../../carrier/emulated/emulatedSource.js';
import type { CrewAction } from '../../emulator/scenario.js';
import { assignments } from '../../logger/crew.js';
import { Refusal } from '../../units/refusal.js';
import { durationMs, later, MS_PER_MINUTE, type UtcMs } from '../../units/time.js';
import { localZone, timeIn } from '../../units/zone.js';
import { record } from '../../visit/record.js';
import type { Context, StoreOptions } from '../context.js';
import type { Reading } from '../sync.js';
import { type EmulateOptions, emulatedCarrierOf } from './emulatedCarrier.js';

const MS_PER_HOUR = 60 * MS_PER_MINUTE;
/** A short press stamps a mark. */
const PRESS_MS = 200;

/**
 * The invented cold morning as a carrier alone saw it: nobody listened, and the crew pressed its button whenever they
 * seated a cup in it. Which probe sits where is on record, no cup is.
 *
 * @param read reads the carrier into a store of its own, forgotten afterwards unless it was named
 */
export async function emulatedDay(
  options: StoreOptions & EmulateOptions,
  command: Command,
  context: Context,
  read: (day: Reading) => Promise<void>,
): Promise<void> {
  const isNamed = command.getOptionValueSource('store') === 'cli';
  if (isNamed && existsSync(options.store))
    throw new Refusal(
      `${options.store} exists already; name a new file with --store, so that an invented morning never mixes with a real one.`,
    );
  if (isNamed && !existsSync(dirname(options.store)))
    throw new Refusal(
      `${options.store} cannot be made, for its folder does not exist; make the folder first.`,
    );
  const { scenario, carrier, source } = await emulatedCarrierOf(options, context);
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-sync-'));
  try {
    const path = isNamed ? options.store : join(folder, 'sync.sqlite');
    const pressed = scenario.crew.filter((action) => isMarked(action, carrier.carrier));
    const hour = (at: UtcMs) => timeIn(at, localZone());
    context.io.err(
      `carrier ${carrier.carrier} logs alone from ${hour(scenario.start)} to ${hour(scenario.end)}; its button is pressed ${pressed.length} times`,
    );
    const alone = aloneWithWords(source, scenario.start, context);
    for (const { at } of pressed) {
      alone(at - scenario.start);
      source.board.press(true);
      alone(source.clock.monotonic() + PRESS_MS);
      source.board.press(false);
      alone(source.clock.monotonic() + PRESS_MS);
    }
    alone(scenario.end - scenario.start);
    await read({
      path,
      keptIn: isNamed ? path : null,
      clock: source.clock,
      sources: [{ source, carrier: carrier.carrier }],
      prepare: (store) =>
        record(store, scenario.start, () => assignments({ ...scenario, carriers: [carrier] })),
    });
    if (!isNamed) context.io.err('what was read is forgotten now; --store FILE keeps it');
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What a crew without a laptop presses the button for. */
const isMarked = (action: CrewAction, carrier: string): boolean =>
  action.does === 'seat' && action.carrier === carrier;

/** Runs on to a time after the start, and says at each full hour how far it is. */
function aloneWithWords(source: EmulatedSource, start: UtcMs, { io }: Context): (untilMs: number) => void {
  return (untilMs) => {
    for (;;) {
      const now = source.clock.monotonic();
      if (now >= untilMs) return;
      const hour = (Math.floor(now / MS_PER_HOUR) + 1) * MS_PER_HOUR;
      source.alone(Math.min(hour, untilMs));
      if (hour <= untilMs)
        io.err(`  ${timeIn(later(start, durationMs(hour)), localZone())}  alone for ${hour / MS_PER_HOUR} h`);
    }
  };
}
