import type { Command } from 'commander';
import {
  BATH,
  bathDifferences,
  CUPS,
  type Differences,
  differences,
  MAP_PROBES_MIN,
  type Moment,
  type PlacementMap,
  placementMap,
} from '../../exposure/placement.js';
import { U_PROBE_UNCORRECTED } from '../../exposure/uncertainty.js';
import type { CarrierId, RomId } from '../../units/ids.js';
import { parseCarrierId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { type Celsius, celsiusDifference, shifted } from '../../units/temperature.js';
import { inMinutes, later, minutes, type UtcMs } from '../../units/time.js';
import { inForce, offsetOf, type PlacementMapped, uncertaintyOf } from '../../visit/commissioned.js';
import { record } from '../../visit/record.js';
import type { Scan } from '../../visit/scans.js';
import { type Season, seasonOf } from '../../visit/season.js';
import { probeIn } from '../../visit/slots.js';
import { ask } from '../ask.js';
import { type Context, toJsonFact, typed } from '../context.js';
import { textTable } from '../textTable.js';
import { wrapped } from '../wrapped.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { type BenchOptions, type BenchSession, elapsed, onBench, withBench } from './benchSession.js';
import { type Measuring, measuring, unread } from './measuring.js';
import { signed } from './probeWords.js';

interface MapOptions extends BenchOptions {
  readonly carrier?: string;
  readonly bath?: string;
}

/** Lifting ten probes out of a bath and into their slots is no scan worth having. */
const MOVING = minutes(1);

/** `probe map`: how much the places of a carrier's probes differ. */
export function defineMap(probe: Command, context: Context): void {
  withBench(probe.command('map'), 90)
    .description("measure a carrier's places: all probes in one stirred bath, then in empty cups")
    .option('--carrier <carrier>', 'which carrier (default: the only one there is)')
    .option(
      '--bath <minutes>',
      'the probes leave the bath so long after the beginning; without it the key Enter says so',
    )
    .action((options: MapOptions, command: Command) => {
      const bath = options.bath === undefined ? null : Number(options.bath);
      if (bath === null && (process.stdin.isTTY !== true || process.stderr.isTTY !== true || options.json))
        throw new WrongCommandLine(
          'Without a terminal nobody can say when the probes leave the bath; give the minutes with --bath.',
        );
      if (bath !== null && !(/^\d{1,3}$/.test(options.bath!) && bath >= 3))
        throw new Refusal(
          `--bath ${options.bath} is not possible; write a whole number of minutes from 3 on.`,
        );
      return onBench(options, command, context, (session) => map(session, bath, options, context));
    });
}

interface Bench extends Measuring {
  readonly carrier: CarrierId;
  /** The probe in each slot, named by the slot. */
  readonly probes: ReadonlyMap<string, RomId>;
}

async function map(
  session: BenchSession,
  bathMinutes: number | null,
  options: MapOptions,
  context: Context,
): Promise<void> {
  const work = measuring(
    session,
    options,
    context,
    'Put all probes of the carrier together into the middle of one water bath near the temperature of use, and stir without a break. Keep board, supply and 12 V away from the water.',
  );
  const { say, keep } = work;
  const scans = session.scans(work.until);
  const first = await scans.next();
  if (first.done) throw unread(session);
  const carrier = carrierNamed(options.carrier, seasonOf(session.store));
  const probes = probesOf(seasonOf(session.store), carrier, first.value.at);
  const bench: Bench = { ...work, carrier, probes };

  const leaves = bathMinutes === null ? null : later(session.begun, minutes(bathMinutes));
  const bath = await stage(bench, scans, {
    word: 'bath',
    measure: (moments, season, at) =>
      bathDifferences(
        moments,
        [...probes.keys()],
        (name) =>
          inForce(season.commissioned.ice.get(probes.get(name)!), at)?.uncertainty ??
          celsiusDifference(U_PROBE_UNCORRECTED),
      ),
    lasts: inMinutes(BATH.lasts),
    isOver: (at) => leaves !== null && at >= leaves,
    isEnough: leaves === null,
  });
  keep();
  say(
    `The bath was at rest at ${bath.level.toFixed(2)} °C. Dry the probes; now each into its slot, cups empty, lid shut, out of sun and draught. Stay away for a quarter of an hour.`,
  );
  if (bathMinutes === null && (await ask('Press Enter when the lid is shut: ')) === null)
    throw new Refusal('The map was stopped before the empty cups; nothing was kept of it.');
  const shut = bathMinutes === null ? session.now() : later(leaves!, MOVING);
  const cups = await stage(bench, scans, {
    word: 'empty cups',
    measure: (moments) => differences(moments, [...probes.keys()], CUPS),
    lasts: inMinutes(CUPS.lasts),
    from: shut,
    isOver: () => false,
    isEnough: true,
  });
  keep();
  conclude(bench, placementMap(bath, cups), bath, cups, options, context);
}

interface Stage {
  readonly word: string;
  readonly measure: (moments: readonly Moment[], season: Season, at: UtcMs) => Differences;
  readonly lasts: number;
  /** Scans before this do not count. */
  readonly from?: UtcMs;
  /** Whether the stage ends now, accepted or not. */
  readonly isOver: (at: UtcMs) => boolean;
  /** Whether the stage ends as soon as it is accepted. */
  readonly isEnough: boolean;
}

/** Watches until what it sees is accepted. @throws {Refusal} when it ends before */
async function stage(
  bench: Bench,
  scans: AsyncGenerator<Scan>,
  plan: Stage,
): Promise<Differences & { readonly at: UtcMs }> {
  const { session, show, probes } = bench;
  const moments: Moment[] = [];
  let why = 'there was no scan';
  for (;;) {
    const next = await scans.next();
    if (next.done) throw new Refusal(`The ${plan.word} did not come to rest, ${session.ending()}: ${why}.`);
    const { value: scan } = next;
    if (plan.from !== undefined && scan.at < plan.from) continue;
    const season = seasonOf(session.store);
    moments.push(momentOf(scan, probes, season));
    let found: Differences | null = null;
    try {
      found = plan.measure(moments, season, scan.at);
      why = '';
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      why = error.message;
    }
    show(
      scan.at,
      picture(plan, moments, why, session.begun, scan.at),
      `${plan.word}: ${why === '' ? 'at rest' : why.split(';')[0]}`,
    );
    if (found !== null && (plan.isEnough || plan.isOver(scan.at))) return { ...found, at: scan.at };
    if (plan.isOver(scan.at)) throw new Refusal(`The ${plan.word} was not at rest: ${why}.`);
  }
}

/** The corrected values of the carrier's probes in one scan, named by slot. */
function momentOf(scan: Scan, probes: ReadonlyMap<string, RomId>, season: Season): Moment {
  const celsius = new Map<string, Celsius>();
  for (const [name, rom] of probes) {
    const value = scan.values.get(rom);
    if (typeof value === 'number')
      celsius.set(name, shifted(value, celsiusDifference(-offsetOf(season.commissioned, rom, scan.at))));
  }
  return { at: scan.at, celsius };
}

function conclude(
  { session, who, carrier, probes }: Bench,
  found: PlacementMap,
  bath: Differences,
  cups: Differences & { readonly at: UtcMs },
  options: MapOptions,
  { io }: Context,
): void {
  const { store } = session;
  const { at } = cups;
  const board = seasonOf(store).carriers.get(carrier)?.board ?? null;
  if (board === null)
    throw new Refusal(`Nobody said which board is built into carrier ${carrier}; do so with carrier pair.`);
  const [fact] = record(store, session.now(), () => [
    {
      type: 'placement-mapped',
      carrier,
      board,
      uncertainty: found.uncertainty,
      places: [...found.places].map(([name, difference]) => ({
        slot: Number(name.slice(carrier.length + 1)),
        rom: probes.get(name)!,
        difference,
      })),
      who: store.keepText(who),
      at,
    },
  ]) as readonly PlacementMapped[];
  const known = seasonOf(store).commissioned;
  const now = [...probes.values()].map((rom) => uncertaintyOf(known, carrier, rom, at));
  if (options.json) {
    io.out(
      JSON.stringify({
        map: toJsonFact(fact!),
        budget: found.budget,
        bathCelsius: bath.level,
        cupsCelsius: cups.level,
      }),
    );
    return;
  }
  for (const line of textTable([
    ['slot', 'in the bath', 'in its cup', 'its place'],
    ...[...found.places].map(([name, place]) => [
      name,
      signed(bath.byProbe.get(name)!),
      signed(cups.byProbe.get(name)!),
      `${signed(place)} °C`,
    ]),
  ]))
    io.out(line);
  for (const { name, standardUncertainty } of found.budget)
    io.out(`${standardUncertainty.toFixed(3)}  ${name}`);
  io.out(
    `u_placement of carrier ${carrier}: ${found.uncertainty.toFixed(3)} °C (0.289 until mapped); U of its slots is now\nat most ${Math.max(...now).toFixed(3)} °C`,
  );
}

function picture(plan: Stage, moments: readonly Moment[], why: string, begun: UtcMs, at: UtcMs): string[] {
  const values = [...(moments.at(-1)?.celsius ?? [])];
  const degrees = values.map(([, celsius]) => celsius as number);
  const range = degrees.length > 0 ? Math.max(...degrees) - Math.min(...degrees) : 0;
  return [
    `map, ${plan.word}  ${elapsed(begun, at)}   ${plan.lasts} min at rest are needed   between the probes ${range.toFixed(2)} °C`,
    ...rowsOf(values.map(([name, celsius]) => `${name} ${celsius.toFixed(2)}`)),
    ...(why === '' ? ['+ at rest'] : wrapped(`~ ${why}`).split('\n')),
  ];
}

const rowsOf = (cells: readonly string[]): string[] =>
  cells.length === 0
    ? ['no probe answers']
    : textTable(
        Array.from({ length: Math.ceil(cells.length / 5) }, (_, row) => cells.slice(row * 5, row * 5 + 5)),
      );

function carrierNamed(text: string | undefined, season: Season): CarrierId {
  const all = [...season.carriers.keys()];
  if (text === undefined && all.length === 1) return all[0]!;
  if (text === undefined)
    throw new Refusal(
      all.length === 0
        ? 'No carrier is known yet; say which board it has with carrier pair.'
        : `There are the carriers ${all.join(', ')}; name one with --carrier.`,
    );
  const id = typed(parseCarrierId, 'carrier name', text);
  if (!season.carriers.has(id)) throw new Refusal(`There is no carrier ${id}; look at carrier show.`);
  return id;
}

/** The probes in the slots of a carrier. @throws {Refusal} when there are too few to compare */
function probesOf(season: Season, id: CarrierId, at: UtcMs): Map<string, RomId> {
  const carrier = season.carriers.get(id)!;
  const probes = new Map<string, RomId>();
  for (const slot of [...carrier.slots.keys()].sort((a, b) => a - b)) {
    const rom = probeIn(carrier, slot, at);
    if (rom !== null) probes.set(`${id}:${slot}`, rom);
  }
  if (probes.size < MAP_PROBES_MIN)
    throw new Refusal(
      `Carrier ${id} has ${probes.size} probes in known slots, a map needs at least ${MAP_PROBES_MIN}; find the slots with probe warm.`,
    );
  return probes;
}
