import type { Command } from 'commander';
import {
  afterScan,
  NOTHING_WARM,
  type Rise,
  WARM_MARGIN,
  WARM_RISE_MIN,
  type WarmFinding,
  type WarmSearch,
  warmedProbe,
  warmingNow,
} from '../../exposure/warmedProbe.js';
import type { Fact } from '../../store/facts.js';
import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import { record } from '../../visit/record.js';
import { ProbeTraces } from '../../visit/scans.js';
import { seasonOf } from '../../visit/season.js';
import { ask } from '../ask.js';
import { type Context, several, toJsonFact, typedSlot } from '../context.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { type BenchOptions, type BenchSession, elapsed, onBench, withBench } from './benchSession.js';
import { measuring } from './measuring.js';
import { byName, nameOf } from './probeNames.js';

interface WarmOptions extends BenchOptions {
  readonly slot?: readonly string[];
}
type Place = ReturnType<typeof typedSlot>;

/** `probe warm`: the probe in a warm hand is the one that rises. */
export function defineWarm(probe: Command, context: Context): void {
  withBench(probe.command('warm'), 60)
    .description('hold each probe in a warm hand in turn; the one that warms is found and gets its slot')
    .option(
      '--slot <carrier:slot>',
      'the slots in the order in which their probes are held; without it the slot is asked for',
      several,
    )
    .action((options: WarmOptions, command: Command) => {
      const isAsking = options.slot === undefined;
      if (isAsking && (process.stdin.isTTY !== true || process.stderr.isTTY !== true || options.json))
        throw new WrongCommandLine(
          'Without a terminal the slots cannot be asked for; give --slot once for each probe, in the order you hold them.',
        );
      const places = (options.slot ?? []).map(typedSlot);
      const keys = places.map(({ carrier, slot }) => `${carrier}:${slot}`);
      const twice = keys.find((key, index) => keys.indexOf(key) !== index);
      if (twice !== undefined) throw new Refusal(`Slot ${twice} is given twice; each slot has one probe.`);
      return onBench(options, command, context, (session) =>
        warm(session, isAsking ? null : places, options, context),
      );
    });
}

async function warm(
  session: BenchSession,
  places: readonly Place[] | null,
  options: WarmOptions,
  context: Context,
): Promise<void> {
  const { store, begun } = session;
  const { io } = context;
  const { who, until, show, keep } = measuring(
    session,
    options,
    context,
    'Hold one probe in a warm hand until it is found; let go, then take the next.',
  );
  const traces = new ProbeTraces();
  const found = new Set<RomId>();
  const taken = new Set<string>();
  const facts: Fact[] = [];
  let search: WarmSearch = NOTHING_WARM;
  let doubt: WarmFinding | null = null;

  const names = (season = seasonOf(store), at = session.now()) => ({
    of: (rom: string) => nameOf(season, rom as RomId, at),
  });
  for await (const scan of session.scans(until)) {
    traces.add(scan);
    const finding = warmingNow(traces.byProbe, scan.at);
    if (finding.state === 'doubtful') doubt = finding;
    search = afterScan(search, finding);
    show(scan.at, picture(finding, found, names().of, begun, scan.at), inWords(finding, names().of));
    const rom = warmedProbe(search) as RomId | null;
    if (rom === null || found.has(rom) || finding.state !== 'found') continue;
    const sentence = `${rom} warmed by ${finding.best.rise.toFixed(1)} °C, the next by ${(finding.second?.rise ?? 0).toFixed(1)}`;
    keep();
    const answer = places === null ? await askSlot(sentence, taken, io) : places[found.size]!;
    if (answer === 'end') break;
    found.add(rom);
    doubt = null;
    search = NOTHING_WARM;
    if (answer !== 'skip') {
      taken.add(`${answer.carrier}:${answer.slot}`);
      const [fact] = assign(session, rom, answer, who, scan.at);
      facts.push(fact!);
      if (options.json !== true) io.out(`${sentence}: it sits in ${answer.carrier}:${answer.slot}`);
    }
    if (found.size === (places?.length ?? traces.byProbe.size)) break;
  }
  if (options.json) io.out(JSON.stringify({ assigned: facts.map(toJsonFact) }));
  const wanted = places?.length ?? 1;
  if (found.size < wanted)
    throw new Refusal(
      `${found.size === 0 ? 'Nothing was assigned' : `${found.size} of ${wanted} probes were assigned`}, ${session.ending()}: ${doubt === null ? `no probe rose by ${WARM_RISE_MIN} °C in a minute; hold it in a closed, warm hand` : inWords(doubt, names().of)}.`,
    );
}

function assign(session: BenchSession, rom: RomId, { carrier, slot }: Place, who: string, at: UtcMs) {
  return record(session.store, session.now(), () => [
    { type: 'probe-assigned', carrier, slot, rom, at, who: session.store.keepText(who) },
  ]);
}

/** Asks until the answer is a slot, nothing (skip this one), or q. */
async function askSlot(
  sentence: string,
  taken: ReadonlySet<string>,
  io: Context['io'],
): Promise<Place | 'skip' | 'end'> {
  for (;;) {
    const answer = await ask(`\u0007${sentence}.\nIts slot (as A:4; Enter skips it, q ends): `);
    const text = answer?.trim() ?? 'q';
    if (text === '') return 'skip';
    if (text.toLowerCase() === 'q') return 'end';
    try {
      const place = typedSlot(text);
      const key = `${place.carrier}:${place.slot}`;
      if (!taken.has(key)) return place;
      io.err(`Slot ${key} was given to another probe just now; each slot has one probe.`);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      io.err(error.message);
    }
  }
}

function inWords(finding: WarmFinding, nameFor: (rom: string) => string): string {
  const rise = ({ probe, rise: by }: Rise) => `${nameFor(probe)} by ${by.toFixed(1)} °C`;
  switch (finding.state) {
    case 'nothing':
      return 'no probe warms';
    case 'found':
      return `${rise(finding.best)} warms`;
    case 'doubtful':
      return `two warmed at once, ${rise(finding.best)} and ${rise(finding.second)}, and one must rise ${WARM_MARGIN} times as much as any other; hold one at a time`;
  }
}

function picture(
  finding: WarmFinding,
  found: ReadonlySet<string>,
  nameFor: (rom: string) => string,
  begun: UtcMs,
  at: UtcMs,
): string[] {
  const { best } = finding;
  const line =
    finding.state === 'nothing'
      ? `. nothing warms${best === null ? '' : `; the most is ${nameFor(best.probe)} by ${best.rise.toFixed(1)} °C in a minute`}`
      : finding.state === 'doubtful'
        ? `! two at once: ${nameFor(finding.best.probe)} +${finding.best.rise.toFixed(1)}, ${nameFor(finding.second.probe)} +${finding.second.rise.toFixed(1)} °C; hold one, wait a minute`
        : found.has(finding.best.probe)
          ? `~ ${nameFor(finding.best.probe)} is known already; let go of it`
          : `+ ${nameFor(finding.best.probe)} +${finding.best.rise.toFixed(1)} °C; hold on`;
  const known = [...found].map(nameFor).sort(byName);
  return [
    `warm hand  ${elapsed(begun, at)}   found so far: ${known.length === 0 ? 'none' : known.join(' ')}`,
    line,
  ];
}
