import type { Command } from 'commander';
import { romId } from '../store/factFields.js';
import type { Store } from '../store/store.js';
import type { RomId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { durationMs, later, minutes, type UtcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { A_NAME, keptWords } from '../visit/keptWords.js';
import { carrierStates, type ProbeState, probeStates } from '../visit/probeStates.js';
import { record } from '../visit/record.js';
import type { Season } from '../visit/season.js';
import { instantAt } from '../visit/when.js';
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
import { defineIce } from './probe/probeIce.js';
import { defineLag } from './probe/probeLag.js';
import { defineMap } from './probe/probeMap.js';
import { defineWarm } from './probe/probeWarm.js';
import { defineWithdraw } from './probe/probeWithdraw.js';
import { certificate, placed, probeRow, probeToJson } from './probe/probeWords.js';
import { textTable } from './textTable.js';
import { byOption, whoDoes } from './whoDoes.js';
import { wrapped } from './wrapped.js';

/** How far back `probe list` looks for a reading. */
const RECENT = minutes(5);

/** The command `probe`: which probes there are, in which slot each one sits, and how far it can be trusted. */
export function define(probe: Command, context: Context): void {
  defineWarm(probe, context);
  defineIce(probe, context);
  defineMap(probe, context);
  defineLag(probe, context);
  defineWithdraw(probe, context);

  onStore(probe.command('list'))
    .description('the probes on record: slot, latest reading, ice check, lag')
    .option('--certificates', 'print the ice check of each as one line to keep with it')
    .action((options: StoreOptions & { certificates?: true }) =>
      reading(options.store, (store, season) => {
        const now = nowIn(options.store, context);
        const states = statesNow(store, season, now);
        if (options.json) context.io.out(JSON.stringify({ probes: states.map(probeToJson) }));
        else if (options.certificates) certificates(store, states, context);
        else list(season, states, now, context);
      }),
    );

  onStore(probe.command('assign <slot> <rom>'))
    .description('say that a probe sits in a slot (CARRIER:SLOT), where probe warm was not used to find it')
    .option('--at <time>', 'since when, HH:MM today or RFC 3339 (default: now)')
    .option(...byOption('who says so'))
    .action((place: string, text: string, options: StoreOptions & { at?: string; by?: string }) => {
      const who = whoDoes(options);
      const { carrier, slot } = typedSlot(place);
      const rom = romId.safeParse(text);
      if (!rom.success)
        throw new Refusal(`${text} ${rom.error.issues[0]!.message}; copy it from probe list.`);
      const now = nowIn(options.store, context);
      writing(context, options.store, (store) => {
        const zone = localZone();
        const at = instantAt(options.at, zone, now);
        const facts = record(store, now, () => [
          { type: 'probe-assigned', carrier, slot, rom: rom.data, at, who: store.keepText(who) },
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

/** What is known of every probe now. */
export function statesNow(store: Store, season: Season, now: UtcMs): ProbeState[] {
  const latestOf = (rom: RomId) => store.readings(rom, later(now, durationMs(-RECENT)), now).at(-1) ?? null;
  return probeStates(season, store.facts(), latestOf, now);
}

function list(season: Season, states: readonly ProbeState[], now: UtcMs, { io }: Context): void {
  if (states.length === 0) {
    io.out('no probes yet; start the logger with log');
    return;
  }
  const head = ['slot', 'probe', 'reads', 'state', 'offset', 'lag'];
  for (const line of textTable([head, ...states.map(probeRow)])) io.out(line);
  for (const line of cautionsOf(states)) io.out(line);
  for (const { carrier, prewarmMinutes } of carrierStates(season, states, now))
    if (prewarmMinutes !== null)
      io.out(`carrier ${carrier}: ${Math.ceil(prewarmMinutes)} min in warm air before the first cup`);
}

/** What a person should know before trusting the probes, one line each. */
export const cautionsOf = (states: readonly ProbeState[]): string[] =>
  states.flatMap((state) =>
    state.cautions.map((caution) =>
      wrapped(`! ${state.place === null ? state.rom : placed(state.place)}: ${caution}`),
    ),
  );

function certificates(store: Store, states: readonly ProbeState[], { io }: Context): void {
  const checked = states.flatMap(({ ice }) => (ice === null ? [] : [ice]));
  if (checked.length === 0) io.out('no probe has been checked in ice yet; do so with probe ice');
  for (const check of checked) io.out(certificate(check, keptWords(store, check.who, A_NAME)));
}
