import type { Command } from 'commander';
import { type IceProgress, iceProgress } from '../../exposure/iceBath.js';
import { type IceTogether, iceTogether } from '../../exposure/iceTogether.js';
import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import { type IceChecked, uncertaintyOf } from '../../visit/commissioned.js';
import { record } from '../../visit/record.js';
import { type Season, seasonOf } from '../../visit/season.js';
import { CheckFailed } from '../checkFailed.js';
import { type Context, several, toJsonFact } from '../context.js';
import { textTable } from '../textTable.js';
import { wrapped } from '../wrapped.js';
import { type BenchOptions, type BenchSession, elapsed, onBench, withBench } from './benchSession.js';
import { type Measuring, measuring, type Watched, watchProbes } from './measuring.js';
import { nameOf } from './probeNames.js';
import { certificate, signed } from './probeWords.js';

interface IceOptions extends BenchOptions {
  readonly probe?: readonly string[];
}

const SHAPE: Readonly<Record<IceProgress['state'], string>> = {
  outside: '.',
  settling: '~',
  measuring: '~',
  unsteady: '!',
  implausible: 'x',
  steady: '+',
};

/** `probe ice`: what each probe reads in ice water is what it reads too much. */
export function defineIce(probe: Command, context: Context): void {
  withBench(probe.command('ice'), 30)
    .description(
      'check probes in stirred ice water and keep their offsets; exit 3 when some pass and some do not',
    )
    .option('--probe <rom|slot>', 'only this probe; may be given several times (default: all)', several)
    .action((options: IceOptions, command: Command) =>
      onBench(options, command, context, (session) => ice(session, options, context)),
    );
}

interface Seen {
  readonly rom: RomId;
  readonly name: string;
  readonly progress: IceProgress;
}

async function ice(session: BenchSession, options: IceOptions, context: Context): Promise<void> {
  const work = measuring(
    session,
    options,
    context,
    'Ice of clean water, crushed, holes filled with cold water, stirred. Push every probe and 15 cm of its cable into the middle; keep board, supply and 12 V away from the water. It begins by itself.',
  );
  const fixed = new Map<RomId, IceProgress>();
  const watched = await watchProbes<Seen>(work, options.probe, {
    look(rom, traces, season, at) {
      const progress = fixed.get(rom) ?? iceProgress(traces.byProbe.get(rom) ?? []);
      // What has passed once stays passed: lifting it out afterwards does no harm.
      if (progress.state === 'steady') fixed.set(rom, progress);
      return { rom, name: nameOf(season, rom, at), progress };
    },
    picture: (seen, at) => picture(seen, session.begun, at, work.until),
    summary,
    isDone: (seen) => seen.every(({ progress }) => progress.state === 'steady'),
  });
  conclude(work, watched, options, context);
}

function conclude(
  { session, who }: Measuring,
  { seen, at, traces }: Watched<Seen>,
  options: IceOptions,
  { io }: Context,
): void {
  const refused = seen.filter(({ progress }) => progress.check === null);
  if (refused.length === seen.length)
    throw new Refusal(`No probe passed the ice check, ${session.ending()}: ${shortened(refused)}.`);
  const bath = iceTogether(seen.flatMap(({ progress: { check } }) => (check === null ? [] : [check.offset])));
  if (bath?.verdict === 'refused')
    throw new Refusal(
      `${bathInWords(bath, seen.length - refused.length)}, further than good probes make likely (a mean of ${bath.limit.toFixed(2)} °C); nothing was kept: more ice, less water, stir, and begin again.`,
    );
  const facts = record(session.store, session.now(), () => {
    const ref = session.store.keepText(who);
    return seen.flatMap(({ rom, progress: { check } }): IceChecked[] =>
      check === null
        ? []
        : [
            {
              type: 'ice-checked',
              rom,
              board: traces.boards.get(rom)!,
              offset: check.offset,
              uncertainty: check.uncertainty,
              standardDeviation: check.standardDeviation,
              readings: check.readings,
              who: ref,
              at,
            },
          ],
    );
  }) as readonly IceChecked[];
  const season = seasonOf(session.store);
  if (options.json)
    io.out(
      JSON.stringify({
        accepted: facts.map(toJsonFact),
        refused: refused.map(({ rom, name, progress }) => ({ rom, name, why: progress.why })),
      }),
    );
  else {
    for (const fact of facts) io.out(certificate(fact, who));
    io.out(
      `${facts.length} of ${seen.length} probes checked; what they read too much is taken off from now on`,
    );
    for (const line of uncertainties(season, seen, at)) io.out(line);
  }
  if (bath?.verdict === 'asked')
    io.err(
      wrapped(
        `? ${bathInWords(bath, facts.length)}. Was there enough ice, all around every probe? If not, take the check back with probe withdraw, and do it again.`,
      ),
    );
  if (refused.length > 0)
    throw new CheckFailed(`${refused.length} of ${seen.length} probes did not pass: ${shortened(refused)}.`);
}

/** What all probes say together of their bath. */
const bathInWords = ({ mean, lowest, highest }: IceTogether, count: number): string =>
  `The ${count} probes together read ${Math.abs(mean).toFixed(2)} °C ${mean > 0 ? 'warm' : 'cold'} (${signed(lowest, 2)} to ${signed(highest, 2)})`;

/** U before and after, for those that have a slot. */
function uncertainties(season: Season, seen: readonly Seen[], at: UtcMs): string[] {
  const values = [...season.carriers.values()].flatMap(({ carrier, slots }) =>
    [...slots.values()].flatMap((history) => {
      const rom = history.at(-1)?.rom;
      return rom && seen.some((each) => each.rom === rom && each.progress.check !== null)
        ? [uncertaintyOf(season.commissioned, carrier, rom, at)]
        : [];
    }),
  );
  return values.length === 0
    ? ['no slot is known for them yet: probe warm finds it']
    : [`U in their slots is now ${Math.max(...values).toFixed(3)} °C or less (0.858 as bought and unmapped)`];
}

function picture(seen: readonly Seen[], begun: UtcMs, at: UtcMs, until: UtcMs): string[] {
  const latest = seen.flatMap(({ progress }) => (progress.latest === null ? [] : [progress.latest]));
  const apart = latest.length > 1 ? Math.max(...latest) - Math.min(...latest) : 0;
  return [
    `ice check  ${elapsed(begun, at)} of ${elapsed(begun, until)}   between the probes ${apart.toFixed(2)} °C`,
    ...textTable([
      ['probe', 'reads °C', 'spread', ''],
      ...seen.map(({ name, progress: { state, latest: reads, standardDeviation, check, why } }) => [
        name,
        reads === null ? '-' : signed(reads, 2),
        standardDeviation === null ? '-' : standardDeviation.toFixed(3),
        `${SHAPE[state]} ${state}${check !== null ? `, offset ${signed(check.offset)}` : state === 'measuring' || state === 'settling' ? `, ${why}` : ''}`,
      ]),
    ]),
  ];
}

function summary(seen: readonly Seen[]): string {
  const counts = new Map<string, number>();
  for (const { progress } of seen) counts.set(progress.state, (counts.get(progress.state) ?? 0) + 1);
  return `${[...counts].map(([state, count]) => `${count} ${state}`).join(', ')}`;
}

/** What is wrong with the first of them, and once what to do: a list of ten alike helps nobody. */
function shortened(refused: readonly Seen[]): string {
  const parts = refused.map(({ name, progress }) => [name, ...(progress.why ?? '').split('; ')]);
  const [, , cure] = parts.find(([, , advice]) => advice !== undefined) ?? [];
  const named = parts.slice(0, 3).map(([name, what]) => `${name}: ${what}`);
  const more = parts.length > 3 ? [`and ${parts.length - 3} more`] : [];
  return [...named, ...more, ...(cure === undefined ? [] : [cure])].join('; ');
}
