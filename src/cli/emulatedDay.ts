import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Command } from 'commander';
import type { CrewAction } from '../emulator/scenario.js';
import { assignments } from '../logger/crew.js';
import { Refusal } from '../units/refusal.js';
import { inZone, localZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import type { Context, StoreOptions } from './context.js';
import { type EmulateOptions, emulatedCarrierOf } from './emulatedCarrier.js';
import type { Reading } from './sync.js';

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
  const { scenario, carrier, source } = await emulatedCarrierOf(options, context);
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-sync-'));
  try {
    const path = isNamed ? options.store : join(folder, 'sync.sqlite');
    const pressed = scenario.crew.filter((action) => isMarked(action, carrier.carrier));
    context.io.err(
      `a carrier logs alone from ${inZone(scenario.start, localZone())} to ${inZone(scenario.end, localZone())}; its button is pressed ${pressed.length} times`,
    );
    for (const { at } of pressed) {
      source.alone(Math.max(source.clock.monotonic(), at - scenario.start));
      source.board.press(true);
      source.alone(source.clock.monotonic() + PRESS_MS);
      source.board.press(false);
      source.alone(source.clock.monotonic() + PRESS_MS);
    }
    source.alone(Math.max(source.clock.monotonic(), scenario.end - scenario.start));
    context.io.err('now a host is connected');
    await read({
      path,
      clock: source.clock,
      sources: [{ source, carrier: carrier.carrier }],
      prepare: (store) =>
        record(store, scenario.start, () => assignments({ ...scenario, carriers: [carrier] })),
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What a crew without a laptop presses the button for. */
const isMarked = (action: CrewAction, carrier: string): boolean =>
  action.does === 'seat' && action.carrier === carrier;
