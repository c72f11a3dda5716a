import type { Command } from 'commander';
import { fitLag, LAG_STEP_MIN, type Lag } from '../../exposure/lag.js';
import { PREWARM_DIFFERENCE, PREWARM_REMAINDER, prewarmMinutes } from '../../exposure/prewarm.js';
import type { Observation } from '../../exposure/types.js';
import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import type { LagMeasured } from '../../visit/commissioned.js';
import { record } from '../../visit/record.js';
import type { ProbeTraces } from '../../visit/scans.js';
import type { Season } from '../../visit/season.js';
import { CheckFailed } from '../checkFailed.js';
import { type Context, several, toJsonFact } from '../context.js';
import { textTable } from '../textTable.js';
import { type BenchOptions, type BenchSession, elapsed, onBench, withBench } from './benchSession.js';
import { type Measuring, measuring, type Watched, watchProbes } from './measuring.js';
import { nameOf } from './probeNames.js';
import { signed } from './probeWords.js';

interface LagOptions extends BenchOptions {
  readonly probe?: readonly string[];
}

/** `probe lag`: how slowly a probe follows, from one step. */
export function defineLag(probe: Command, context: Context): void {
  withBench(probe.command('lag'), 45)
    .description(
      'measure how slowly probes follow: warm in a hand or bath, then into their empty cups; the time constant is fitted',
    )
    .option(
      '--probe <rom|slot>',
      'only this probe; may be given several times (default: all that make a step)',
      several,
    )
    .action((options: LagOptions, command: Command) =>
      onBench(options, command, context, (session) => lag(session, options, context)),
    );
}

interface Seen {
  readonly rom: RomId;
  readonly name: string;
  readonly readings: readonly Observation[];
  /** From its lowest to its highest reading, degrees. */
  readonly range: number;
  readonly fit: Lag | null;
  readonly why: string | null;
}

/** Measures, records and tells. @throws {Refusal} nothing was measured; {CheckFailed} not all probes were */
export async function lag(session: BenchSession, options: LagOptions, context: Context): Promise<void> {
  const work = measuring(
    session,
    options,
    context,
    'Leave the probes in a warm hand or a warm bath (no hotter than a hand bears; board, supply and 12 V away from the water) until they keep still, then put them into their empty cups at once, lid shut. It goes on by itself.',
  );
  const watched = await watchProbes<Seen>(work, options.probe, {
    look,
    picture: (seen, at) => picture(seen, session.begun, at),
    summary,
    isDone(seen) {
      const awaited = options.probe === undefined ? seen.filter(({ range }) => range >= LAG_STEP_MIN) : seen;
      return awaited.length > 0 && awaited.every(({ fit }) => fit !== null);
    },
  });
  conclude(work, watched, options, context);
}

function look(rom: RomId, traces: ProbeTraces, season: Season, at: UtcMs): Seen {
  const readings = traces.byProbe.get(rom) ?? [];
  const degrees = readings.map(({ celsius }) => celsius as number);
  const range = degrees.length === 0 ? 0 : Math.max(...degrees) - Math.min(...degrees);
  const about = { rom, name: nameOf(season, rom, at), readings, range };
  try {
    return { ...about, fit: fitLag(readings), why: null };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return { ...about, fit: null, why: error.message };
  }
}

function conclude(
  { session, who }: Measuring,
  { seen, at, traces }: Watched<Seen>,
  options: LagOptions,
  { io }: Context,
): void {
  const fitted = seen.filter(({ fit }) => fit !== null);
  if (fitted.length === 0) {
    const nearest = [...seen].sort((a, b) => b.range - a.range)[0]!;
    throw new Refusal(`No lag was measured, ${session.ending()}; of ${nearest.name}: ${nearest.why}.`);
  }
  const facts = record(session.store, session.now(), () => {
    const ref = session.store.keepText(who);
    return fitted.map(
      ({ rom, fit }): LagMeasured => ({
        type: 'lag-measured',
        rom,
        board: traces.boards.get(rom)!,
        tauSeconds: fit!.tauSeconds,
        lowSeconds: fit!.lowSeconds,
        highSeconds: fit!.highSeconds,
        stepCelsius: fit!.step,
        who: ref,
        at,
      }),
    );
  });
  const slowest = Math.max(...fitted.map(({ fit }) => fit!.highSeconds));
  const advised = Math.ceil(prewarmMinutes(slowest));
  if (options.json) {
    io.out(JSON.stringify({ lags: facts.map(toJsonFact), prewarmMinutes: prewarmMinutes(slowest) }));
    refuseUnmeasured(seen);
    return;
  }
  for (const line of textTable(
    fitted.map(({ name, rom, fit }) => [
      name === rom ? '' : name,
      rom,
      `tau ${fit!.tauSeconds.toFixed(0)} s (${fit!.lowSeconds.toFixed(0)} to ${fit!.highSeconds.toFixed(0)})`,
      `step ${signed(fit!.step, 1)} °C`,
    ]),
  ))
    io.out(line);
  io.out(
    `Warm the carrier before loading: when its air is warm, wait ${advised} min more. Then of\n${PREWARM_DIFFERENCE} °C that a probe was colder ${PREWARM_REMAINDER} °C are left. No reading is corrected for this.`,
  );
  refuseUnmeasured(seen);
}

/** @throws {CheckFailed} naming the probes that were in no step */
function refuseUnmeasured(seen: readonly Seen[]): void {
  const missed = seen.filter(({ fit }) => fit === null);
  if (missed.length > 0)
    throw new CheckFailed(
      `${missed.length} of ${seen.length} probes were not measured: ${missed.map(({ name, why }) => `${name}: ${why}`).join('; ')}.`,
    );
}

function picture(seen: readonly Seen[], begun: UtcMs, at: UtcMs): string[] {
  return [
    `lag  ${elapsed(begun, at)}`,
    ...textTable([
      ['probe', 'reads °C', 'range', ''],
      ...seen.map(({ name, readings, range, fit, why }) => [
        name,
        readings.length === 0 ? '-' : readings.at(-1)!.celsius.toFixed(2),
        range.toFixed(1),
        fit !== null
          ? `+ tau ${fit.tauSeconds.toFixed(0)} s`
          : range < LAG_STEP_MIN
            ? '. no step yet'
            : `~ ${stillMissing(why!)}`,
      ]),
    ]),
  ];
}

/** What of a refusal's sentence fits beside a table: all before what to do. */
const stillMissing = (why: string): string => why.split(/[;,]/)[0]!.replace(/^the step /, '');

function summary(seen: readonly Seen[]): string {
  const done = seen.filter(({ fit }) => fit !== null).length;
  const moving = seen.filter(({ fit, range }) => fit === null && range >= LAG_STEP_MIN).length;
  return `${seen.length} probes, ${moving} in a step, ${done} measured`;
}
