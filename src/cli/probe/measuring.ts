import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import { ProbeTraces } from '../../visit/scans.js';
import { type Season, seasonOf } from '../../visit/season.js';
import type { Context } from '../context.js';
import { liveLines } from '../liveLines.js';
import { whoDoes } from '../whoDoes.js';
import { wrapped } from '../wrapped.js';
import { type BenchOptions, type BenchSession, deadlineOf, elapsed } from './benchSession.js';
import { byName, typedProbe } from './probeNames.js';

/** A measurement that is under way: what every command that measures probes begins with. */
export interface Measuring {
  readonly session: BenchSession;
  readonly who: string;
  /** When to give up. */
  readonly until: UtcMs;
  /** Tells people what to do; nothing where the output is for programs. */
  say(sentence: string): void;
  /** A picture of how far it is, on a terminal; elsewhere now and then its summary. */
  show(at: UtcMs, picture: readonly string[], summary: string): void;
  /** What is shown stays; the next picture stands below it. */
  keep(): void;
}

/** Begins a measurement, and says what to do. */
export function measuring(
  session: BenchSession,
  options: BenchOptions,
  { io }: Context,
  introduction: string,
): Measuring {
  const isQuiet = options.json === true;
  const live = liveLines(io, process.stderr.isTTY === true, isQuiet);
  const begun: Measuring = {
    session,
    who: whoDoes(options),
    until: deadlineOf(options, session.begun),
    say(sentence) {
      if (!isQuiet) io.err(wrapped(sentence));
    },
    show(at, picture, summary) {
      const note = session.note();
      const lines = note === null ? picture : [...picture, `(${note})`];
      live.show(at, lines, `${elapsed(session.begun, at)}  ${summary}`);
    },
    keep: live.keep,
  };
  begun.say(introduction);
  return begun;
}

/** What was seen of each probe, in order of name, when the watching ended. */
export interface Watched<Seen> {
  readonly seen: readonly Seen[];
  readonly at: UtcMs;
  readonly traces: ProbeTraces;
}

/** How probes are watched. */
export interface Watch<Seen> {
  /** What is to be said of one probe now. */
  readonly look: (rom: RomId, traces: ProbeTraces, season: Season, at: UtcMs) => Seen;
  readonly picture: (seen: readonly Seen[], at: UtcMs) => readonly string[];
  readonly summary: (seen: readonly Seen[]) => string;
  /** Whether there is nothing more to wait for. */
  readonly isDone: (seen: readonly Seen[]) => boolean;
}

/**
 * Watches the probes that were named, or all that are read, until there is nothing more to wait for or the scans end.
 *
 * @param names as people typed them; none stands for all probes
 * @throws {Refusal} when no probe was read at all
 */
export async function watchProbes<Seen extends { readonly name: string }>(
  { session, until, show }: Measuring,
  names: readonly string[] | undefined,
  { look, picture, summary, isDone }: Watch<Seen>,
): Promise<Watched<Seen>> {
  const traces = new ProbeTraces();
  let seen: Seen[] = [];
  let at = session.begun;
  for await (const scan of session.scans(until)) {
    traces.add(scan);
    at = scan.at;
    const season = seasonOf(session.store);
    const wanted = names?.map((text) => typedProbe(text, season, at)) ?? [...traces.byProbe.keys()];
    seen = wanted.map((rom) => look(rom, traces, season, at)).sort((a, b) => byName(a.name, b.name));
    show(at, picture(seen, at), summary(seen));
    if (seen.length > 0 && isDone(seen)) break;
  }
  if (seen.length === 0) throw unread(session);
  return { seen, at, traces };
}

/** Nothing came, from beginning to end. */
export const unread = (session: BenchSession): Refusal =>
  new Refusal(`No probe was read (${session.ending()}); look at the board and its cable.`);
