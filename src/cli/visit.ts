import type { Command } from 'commander';
import { DEFAULT_RULES, rulesToJson } from '../exposure/ruleSet.js';
import { notPlannedWith } from '../plan/fromPlan.js';
import type { Store } from '../store/store.js';
import { parseVisitId, parseYardCode } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { closeVisit } from '../visit/actions.js';
import { futureObjection } from '../visit/future.js';
import { prewarmAdvice, prewarmingOf } from '../visit/prewarming.js';
import { record } from '../visit/record.js';
import { resultToJson, visitResult } from '../visit/result.js';
import { cupsOf, type Season, seasonOf, type Visit } from '../visit/season.js';
import { missingCounts, toldAllTheSame, waitsForCounts } from '../visit/stillToCount.js';
import { checkedZone, instantAt } from '../visit/when.js';
import {
  type Context,
  nowIn,
  onStore,
  reading,
  report,
  type StoreOptions,
  seasonIfAny,
  typed,
  writing,
} from './context.js';
import { readReadyCsv } from './csv/readyCsv.js';
import { readRules } from './judging/judge.js';
import { resultInWords } from './judging/resultInWords.js';
import { visitPlanned } from './plan/fromPlan.js';
import { cautionAt } from './safety.js';
import { byOption, whoDoes } from './whoDoes.js';
import { errSentence, wrapped } from './wrapped.js';
import { WrongCommandLine } from './wrongCommandLine.js';

interface OpenOptions extends StoreOptions {
  yard?: string;
  plan?: string;
  zone?: string;
  active?: string;
  lot?: string;
  cups?: string;
  rules?: string;
  at?: string;
  by?: string;
  piece?: string;
  history?: string;
}

interface ResultOptions extends StoreOptions {
  readonly final?: true;
}

const AT = ['--at <time>', 'when, HH:MM today in the zone or RFC 3339 (default: now)'] as const;

/** The command `visit`: a yard's visit from opening to result. */
export function define(visit: Command, context: Context): void {
  onStore(visit.command('open <visit>'))
    .description('open a visit to a yard')
    .option('--yard <code>', "the yard's code name")
    .option('--plan <file>', 'take yard, zone, active, lot and cups from a plan of plan day --out')
    .option('--zone <zone>', "the yard's time zone, an IANA name (default: this computer's)")
    .option('--active <words>', 'the active under test, such as "amitraz strip"')
    .option('--lot <words>', "the strip's lot")
    .option('--cups <number>', 'how many cups are planned here; what two vehicles of one visit plan adds up')
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option('--piece <size>', 'the size of a piece of strip, as "1 in x 1 in"')
    .option('--history <words>', 'what treatments the colonies had; kept apart from the facts')
    .option(...AT)
    .option(...byOption('who does it'))
    .action((name: string, options: OpenOptions) => openVisit(name, options, context));

  onStore(visit.command('close <visit>'))
    .description('close a visit when all its cups are turned')
    .option(...AT)
    .option(...byOption('who does it'))
    .action((name: string, options: StoreOptions & { at?: string; by?: string }) =>
      writing(context, options.store, (store) => {
        const now = nowIn(options.store, context);
        const who = whoDoes(options);
        let zone = 'UTC';
        const facts = record(store, now, (season) => {
          const { visit: id, zone: itsZone } = visitOf(season, name);
          zone = itsZone;
          const at = instantAt(options.at, zone, now);
          return closeVisit(season, id, { store, at, within: null, who, late: null, now });
        });
        report(context.io, options.json, facts, `visit ${name} closed at ${inZone(facts.at(-1)!.at, zone)}`);
      }),
    );

  onStore(visit.command('list'))
    .description('list the visits of a store')
    .action((options: StoreOptions) =>
      reading(options.store, (_store, season) => {
        const visits = [...season.visits.values()];
        if (options.json) {
          const rows = visits.map(({ visit: name, yard, opened, closed }) => ({
            visit: name,
            yard,
            opened: formatInstant(opened),
            closed: closed === null ? null : formatInstant(closed),
          }));
          context.io.out(JSON.stringify({ visits: rows }));
        } else if (visits.length === 0) context.io.out('no visits yet');
        else for (const each of visits) context.io.out(visitLine(each));
      }),
    );

  onStore(visit.command('result <visit>'))
    .description("a visit's rulings, efficacy and infestation, once all its cups are counted")
    .option(
      '--final',
      'tell them although cups are not fully counted; not for whoever counts them (--json always does)',
    )
    .action((name: string, options: ResultOptions) =>
      reading(options.store, (store, season) =>
        showResult(store, season, visitOf(season, name), options, context),
      ),
    );
}

/** Whoever still counts must know no ruling and no efficacy of what is counted next. */
function showResult(
  store: Store,
  season: Season,
  visit: Visit,
  { store: path, json, final }: ResultOptions,
  context: Context,
): void {
  const { io } = context;
  const missing = missingCounts(cupsOf(season, visit.visit));
  if (missing.length > 0 && !json && !final) {
    io.out(wrapped(waitsForCounts(missing, toldAllTheSame(visit.visit)).join('\n')));
    return;
  }
  const result = visitResult(store, season, [visit], nowIn(path, context));
  const caution =
    missing.length === 0
      ? null
      : `Not fully counted (${missing.join('; ')}). Whoever counts these must not see this result: the counting would not be blind.`;
  // For programs the shape is fixed.
  if (json && caution !== null) errSentence(io, caution);
  if (json) io.out(JSON.stringify(resultToJson(result)));
  else io.out(wrapped([...(caution === null ? [] : [caution, '']), resultInWords(result)].join('\n')));
}

async function openVisit(name: string, given: OpenOptions, context: Context): Promise<void> {
  const now = nowIn(given.store, context);
  const plan = given.plan === undefined ? [] : await readReadyCsv(given.plan);
  const { options, remarks } =
    given.plan === undefined
      ? { options: given, remarks: [] }
      : visitPlanned(plan, name, { ...given, plan: given.plan }, seasonIfAny(given.store), now);
  if (options.yard === undefined)
    throw new WrongCommandLine('Say which yard with --yard, or name a plan that has it with --plan.');
  const zone = checkedZone(options.zone ?? localZone());
  if (options.cups !== undefined && !/^[1-9]\d{0,3}$/.test(options.cups))
    throw new Refusal(`--cups ${options.cups} is not a number of cups; write a whole number from 1 on.`);
  const rules = options.rules === undefined ? DEFAULT_RULES : await readRules(options.rules);
  const objectionToRules = notPlannedWith(plan, name, rules);
  if (objectionToRules !== null)
    throw new Refusal(`Visit ${name} ${objectionToRules}; give the rules of the plan with --rules.`);
  const fact = {
    type: 'visit-opened',
    visit: typed(parseVisitId, 'visit name', name),
    yard: typed(parseYardCode, 'yard code', options.yard),
    zone,
    at: instantAt(options.at, zone, now),
    active: options.active ?? null,
    lot: options.lot ?? null,
    declaredCups: options.cups === undefined ? null : Number(options.cups),
    rules: rulesToJson(rules),
  } as const;
  // Before a store is created for it.
  const objection = futureObjection(fact.at, now, (at) => inZone(at, zone));
  if (objection !== null) throw new Refusal(objection);
  writing(context, options.store, (store) => {
    const facts = record(store, now, () => [
      {
        ...fact,
        ...(options.piece === undefined ? {} : { piece: options.piece }),
        ...(options.history === undefined ? {} : { history: store.keepText(options.history) }),
        who: store.keepText(whoDoes(options)),
      },
    ]);
    report(
      context.io,
      options.json,
      facts,
      `visit ${fact.visit} to yard ${fact.yard} opened at ${inZone(fact.at, zone)}, rule set ${fact.rules.name} ${fact.rules.version}`,
    );
    for (const remark of remarks) context.io.err(wrapped(remark));
    context.io.err(cautionAt('visit'));
    for (const advice of prewarmAdvice(prewarmingOf(seasonOf(store), now))) context.io.err(wrapped(advice));
  });
}

/** The visit a person named. */
export function visitOf(season: Season, name: string): Visit {
  const visit = [...season.visits.values()].find((each) => each.visit === name);
  if (!visit)
    throw new Refusal(
      `There is no visit ${name} in this store; ${season.visits.size > 0 ? `it has ${[...season.visits.keys()].join(', ')}` : 'it has none yet'}.`,
    );
  return visit;
}

const visitLine = ({ visit, yard, zone, opened, closed }: Visit): string =>
  `${visit}  yard ${yard}  opened ${inZone(opened, zone)}  ${closed === null ? 'open' : `closed ${inZone(closed, zone)}`}`;
