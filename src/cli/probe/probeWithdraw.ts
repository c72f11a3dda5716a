import { type Command, Option } from 'commander';
import type { Fact, MEASUREMENTS } from '../../store/facts.js';
import type { Store } from '../../store/store.js';
import { parseCarrierId, type RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import type { UtcMs } from '../../units/time.js';
import { inZone, localZone } from '../../units/zone.js';
import { inForce, uncertaintyOf } from '../../visit/commissioned.js';
import { A_NAME, keptWords } from '../../visit/keptWords.js';
import { record } from '../../visit/record.js';
import { type Season, seasonOf } from '../../visit/season.js';
import { withdrawalsOn } from '../../visit/withdrawals.js';
import { type Context, nowIn, onStore, report, type StoreOptions, typed, writing } from '../context.js';
import { byOption, whoDoes } from '../whoDoes.js';
import { wrapped } from '../wrapped.js';
import { nameOf, typedProbe } from './probeNames.js';
import { signed } from './probeWords.js';

type Measurement = (typeof MEASUREMENTS)[number];

const WHAT: Readonly<Record<string, Measurement>> = {
  ice: 'ice-checked',
  map: 'placement-mapped',
  lag: 'lag-measured',
  slot: 'probe-assigned',
};

interface WithdrawOptions extends StoreOptions {
  readonly why: string;
  readonly by?: string;
}

/** `probe withdraw`: what was measured or said wrongly counts no more; it stays on record. */
export function defineWithdraw(probe: Command, context: Context): void {
  onStore(probe.command('withdraw <what> <which>'))
    .description(
      'withdraw the latest ice check or lag of a probe (ROM id or slot), map of a carrier, or slot of a probe; WHAT is ice, lag, map or slot',
    )
    .addOption(new Option('--why <words>', 'why; kept beside the facts').makeOptionMandatory())
    .option(...byOption('who withdraws it'))
    .action((what: string, which: string, options: WithdrawOptions) =>
      withdraw(what, which, options, context),
    );
}

function withdraw(what: string, which: string, options: WithdrawOptions, context: Context): void {
  const of = WHAT[what];
  if (of === undefined)
    throw new Refusal(`${what} cannot be withdrawn; write one of ${Object.keys(WHAT).join(', ')}.`);
  const who = whoDoes(options);
  const why = options.why.trim();
  if (why === '') throw new Refusal('--why needs words; say what was wrong with it.');
  const now = nowIn(options.store, context);
  writing(context, options.store, (store) => {
    let found: Found | null = null;
    const facts = record(store, now, (season) => {
      found = latest(of, which, season, store, now);
      return [
        {
          type: 'measurement-withdrawn',
          of,
          entry: found.seq,
          why: store.keepText(why),
          who: store.keepText(who),
          at: now,
        },
      ];
    });
    const { sentence, rom } = found!;
    report(context.io, options.json, facts, wrapped(`withdrawn: ${sentence}; it stays on record`));
    if (options.json) return;
    const season = seasonOf(store);
    for (const line of whatCountsNow(of, which, rom, season, now)) context.io.out(wrapped(line));
    const cups = [...season.cups.values()].filter((cup) =>
      withdrawalsOn(season, cup, now).some(({ at }) => at === now),
    );
    if (cups.length > 0)
      context.io.out(
        wrapped(
          `${cups.length === 1 ? 'The ruling' : 'The rulings'} on ${cups.map(({ cup }) => cup).join(', ')} rested on it and will say so; visit result gives them by what remains.`,
        ),
      );
  });
}

interface Found {
  /** The number of its fact. */
  readonly seq: number;
  /** Null for a map. */
  readonly rom: RomId | null;
  readonly sentence: string;
}

/** The measurement in force. @throws {Refusal} when there is none */
function latest(of: Measurement, which: string, season: Season, store: Store, now: UtcMs): Found {
  const { commissioned, assignments } = season;
  const on = (at: UtcMs) => inZone(at, localZone());
  const by = (ref: string | undefined) => (ref === undefined ? '' : ` by ${keptWords(store, ref, A_NAME)}`);
  const seqOf = (fact: object) => [...commissioned.bySeq].find(([, each]) => each === fact)![0];
  const none = (words: string) => new Refusal(`${words}, so none can be withdrawn; look at probe list.`);
  if (of === 'placement-mapped') {
    const carrier = typed(parseCarrierId, 'carrier name', which);
    const map = inForce(commissioned.maps.get(carrier), now);
    if (map === null) throw none(`Carrier ${which} has no map`);
    return {
      seq: seqOf(map),
      rom: null,
      sentence: `the map of carrier ${carrier} of ${on(map.at)}${by(map.who)}, u_placement ${map.uncertainty.toFixed(3)} °C`,
    };
  }
  const rom = typedProbe(which, season, now);
  if (of === 'probe-assigned') {
    const said = assignments.findLast((each) => each.rom === rom && each.at <= now);
    if (said === undefined) throw none(`Probe ${rom} has no slot`);
    const fact = store.facts().find(({ seq }) => seq === said.seq)!.fact as Extract<
      Fact,
      { type: 'probe-assigned' }
    >;
    return {
      seq: said.seq,
      rom,
      sentence: `that probe ${rom} sits in ${said.carrier}:${said.slot} since ${on(said.at)}${by(fact.who)}`,
    };
  }
  if (of === 'ice-checked') {
    const check = inForce(commissioned.ice.get(rom), now);
    if (check === null) throw none(`Probe ${rom} has no ice check`);
    return {
      seq: seqOf(check),
      rom,
      sentence: `the ice check of probe ${rom} of ${on(check.at)}${by(check.who)}, offset ${signed(check.offset)} °C`,
    };
  }
  const lag = inForce(commissioned.lags.get(rom), now);
  if (lag === null) throw none(`Probe ${rom} has no measured lag`);
  return {
    seq: seqOf(lag),
    rom,
    sentence: `the lag of probe ${rom} of ${on(lag.at)}${by(lag.who)}, ${Math.round(lag.tauSeconds)} s`,
  };
}

/** What stands in its place. */
function whatCountsNow(
  of: Measurement,
  which: string,
  rom: RomId | null,
  season: Season,
  now: UtcMs,
): string[] {
  const { commissioned } = season;
  if (of === 'placement-mapped') {
    const map = inForce(commissioned.maps.get(parseCarrierId(which)!), now);
    return [
      map === null
        ? 'The carrier counts as not mapped now: u_placement 0.289 °C.'
        : `The map before it counts again: u_placement ${map.uncertainty.toFixed(3)} °C.`,
    ];
  }
  const name = nameOf(season, rom!, now);
  if (of === 'probe-assigned')
    return [name === rom ? 'The probe has no slot now.' : `The probe counts as in ${name} again.`];
  if (of === 'lag-measured') {
    const lag = inForce(commissioned.lags.get(rom!), now);
    return [
      lag === null
        ? 'No lag is known of it now.'
        : `The lag before it counts again: ${Math.round(lag.tauSeconds)} s.`,
    ];
  }
  const check = inForce(commissioned.ice.get(rom!), now);
  const carrier = parseCarrierId(name.split(':')[0]!);
  const u =
    name === rom || carrier === null
      ? ''
      : ` U in ${name} is now ${uncertaintyOf(commissioned, carrier, rom!, now).toFixed(3)} °C.`;
  return [
    (check === null
      ? 'The probe counts as never checked in ice now.'
      : `The ice check before it counts again: offset ${signed(check.offset)} °C.`) + u,
  ];
}
