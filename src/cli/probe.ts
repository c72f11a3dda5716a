import type { Command } from 'commander';
import { trustworthy } from '../exposure/trustworthy.js';
import { romId } from '../store/facts.js';
import type { StoredReading } from '../store/store.js';
import type { RomId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { between, durationMs, later, MS_PER_SECOND, minutes } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { record } from '../visit/record.js';
import type { Season } from '../visit/season.js';
import {
  type Context,
  nowIn,
  onStore,
  reading,
  report,
  type StoreOptions,
  typedSlot,
  writing,
} from './context.js';
import { instantAt } from './when.js';

/** How far back `probe list` looks for a reading. */
const RECENT = minutes(5);

/** The command `probe`: which probes there are, and in which slot each one sits. */
export function define(probe: Command, context: Context): void {
  onStore(probe.command('list'))
    .description('the probes the boards have found, with their slots and latest readings')
    .action((options: StoreOptions) =>
      reading(options.store, (store, season) => {
        const now = nowIn(options.store, context);
        const rows = [...found(store.facts(), season)].map(([rom, slot]) => {
          const last = store.readings(rom, later(now, durationMs(-RECENT)), now).at(-1) ?? null;
          return { rom, slot, ...latest(last, now) };
        });
        if (options.json) context.io.out(JSON.stringify({ probes: rows }));
        else if (rows.length === 0) context.io.out('no probes yet; start the logger with log');
        else
          for (const { rom, slot, celsius, seconds, problem } of rows)
            context.io.out(
              `${rom}  ${slot ?? 'no slot'}  ${celsius === null ? (problem ?? 'no reading in the last 5 min') : `${celsius.toFixed(2)} °C, ${seconds} s ago`}`,
            );
      }),
    );

  onStore(probe.command('assign <slot> <rom>'))
    .description(
      'say that a probe sits in a slot (CARRIER:SLOT); warm it by hand and look at probe list to find it',
    )
    .option('--at <time>', 'since when, HH:MM today or RFC 3339 (default: now)')
    .action((place: string, text: string, options: StoreOptions & { at?: string }) => {
      const { carrier, slot } = typedSlot(place);
      const rom = romId.safeParse(text);
      if (!rom.success)
        throw new Refusal(`${text} ${rom.error.issues[0]!.message}; copy it from probe list.`);
      const now = nowIn(options.store, context);
      writing(context, options.store, (store) => {
        const zone = localZone();
        const at = instantAt(options.at, zone, now);
        const facts = record(store, now, () => [
          { type: 'probe-assigned', carrier, slot, rom: rom.data, at },
        ]);
        report(
          context.io,
          options.json,
          facts,
          `probe ${rom.data} sits in ${carrier}:${slot} since ${inZone(at, zone)}`,
        );
      });
    });
}

/** Every probe that was found or assigned, with its present slot. */
function found(
  facts: ReturnType<import('../store/store.js').Store['facts']>,
  season: Season,
): Map<RomId, string | null> {
  const probes = new Map<RomId, string | null>();
  for (const { fact } of facts)
    if (fact.type === 'probes-found') for (const { rom } of fact.probes) probes.set(rom, null);
  for (const { carrier, slots } of season.carriers.values())
    for (const [slot, history] of slots) {
      const rom = history.at(-1)?.rom ?? null;
      if (rom !== null) probes.set(rom, `${carrier}:${slot}`);
    }
  return probes;
}

function latest(reading: StoredReading | null, now: number) {
  if (reading === null) return { celsius: null, seconds: null, problem: null };
  const value = trustworthy(reading.status, reading.raw);
  const seconds = Math.round(between(reading.utc, now as typeof reading.utc) / MS_PER_SECOND);
  return typeof value === 'number'
    ? { celsius: value as number, seconds, problem: null }
    : { celsius: null, seconds, problem: value.rejected };
}
