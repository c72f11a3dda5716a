import { Temporal } from 'temporal-polyfill';
import { DEFAULT_RULES, rulesToJson } from '../../exposure/ruleSet.js';
import { nextVisitOfPlan, notPlannedWith, visitOfPlan } from '../../plan/fromPlan.js';
import { LABEL_RULE, parseVisitId, parseYardCode, type VisitId } from '../../units/ids.js';
import { closeVisit } from '../../visit/actions.js';
import { CAUTIONS } from '../../visit/cautions.js';
import { isExposed } from '../../visit/cup.js';
import { prewarmAdvice, prewarmingOf } from '../../visit/prewarming.js';
import { cupsOf, openVisits, type Season, type Visit } from '../../visit/season.js';
import { askChoice, askNumber, askWords, firstOpen } from './asking.js';
import type { Answers, Form, Known, Question } from './form.js';

/** The next visit of the plan, else the next free name of the day, as 260512-1. */
function nextVisit({ season, now, zone, plan }: Known): string {
  const planned = nextVisitOfPlan(plan, season);
  if (planned !== null) return planned;
  const { year, month, day } = Temporal.Instant.fromEpochMilliseconds(now).toZonedDateTimeISO(zone);
  const date = [year % 100, month, day].map((part) => String(part).padStart(2, '0')).join('');
  for (let number = 1; ; number += 1)
    if (!season.visits.has(`${date}-${number}` as VisitId)) return `${date}-${number}`;
}

/** The answers of the visit opened last, offered again: a crew tests one active all day. */
const lastVisit = (season: Season): Visit | undefined => [...season.visits.values()].at(-1);

const askAgain = (key: string, prompt: string, last: string | null | undefined): Question =>
  last
    ? { ...askWords(key, `${prompt} Enter: ${last}`, last), choices: [] }
    : askWords(key, `${prompt} Enter: not told`, '');

/** The zone of the yard by the plan, else this computer's. */
const zoneMeant = (answers: Answers, known: Known): string => planOf(answers, known)?.zone ?? known.zone;

const planOf = (answers: Answers, { plan, season, now }: Known) =>
  visitOfPlan(plan, answers.get('visit'), season, now);

export const OPEN_VISIT: Form = {
  name: 'open',
  title: 'Open a visit to a yard',
  isTimed: true,
  ask: (answers, known) => {
    const planned = planOf(answers, known);
    const last = planned ?? lastVisit(known.season);
    return firstOpen(
      answers,
      [
        'visit',
        () => ({
          ...askWords('visit', `Name of the visit? Enter: ${nextVisit(known)}`, nextVisit(known)),
          caution: [CAUTIONS.visit, ...prewarmAdvice(prewarmingOf(known.season, known.now))].join(' '),
          check: (answer: string) => {
            if (parseVisitId(answer) === null) return `${answer} is no name of a visit; use ${LABEL_RULE}.`;
            if (known.season.visits.has(answer as VisitId)) return `Visit ${answer} exists already.`;
            // A visit that is opened here is judged by the default rules.
            const objection = notPlannedWith(known.plan, answer, DEFAULT_RULES);
            return objection === null
              ? null
              : `Visit ${answer} ${objection}; open it with visit open --plan and --rules.`;
          },
        }),
      ],
      [
        'yard',
        () => ({
          ...askWords(
            'yard',
            `The yard's code name (no person, no place)?${planned === null ? '' : ` Enter: ${planned.yard}`}`,
            planned?.yard ?? null,
          ),
          caution: planned?.otherDay ?? undefined,
          check: (answer: string) =>
            parseYardCode(answer) === null ? `${answer || 'That'} is no yard code; use ${LABEL_RULE}.` : null,
        }),
      ],
      ['active', () => askAgain('active', 'The active under test?', last?.active)],
      ['lot', () => askAgain('lot', "The strip's lot?", last?.lot)],
      [
        'cups',
        () => ({
          ...askNumber(
            'cups',
            `How many cups are planned?${planned === null ? '' : ` Enter: ${planned.cups}`}`,
            (cups) => (cups > 0 && cups < 1000 ? null : 'At least one.'),
          ),
          otherwise: planned === null ? null : String(planned.cups),
          caution: planned?.otherVehicle ?? undefined,
        }),
      ],
    );
  },
  summary: (answers) =>
    `Open visit ${answers.get('visit')} to yard ${answers.get('yard')}, ${answers.get('cups')} cups${answers.get('active') ? `, ${answers.get('active')}` : ''}${answers.get('lot') ? ` lot ${answers.get('lot')}` : ''}`,
  facts: (answers, known, { store, at, who }) => [
    {
      type: 'visit-opened',
      visit: parseVisitId(answers.get('visit')!)!,
      yard: parseYardCode(answers.get('yard')!)!,
      zone: zoneMeant(answers, known),
      at,
      active: answers.get('active') || null,
      lot: answers.get('lot') || null,
      declaredCups: Number(answers.get('cups')),
      rules: rulesToJson(DEFAULT_RULES),
      ...(who === null ? {} : { who: store.keepText(who) }),
    },
  ],
  zone: zoneMeant,
};

export const CLOSE_VISIT: Form = {
  name: 'close',
  title: 'Close a visit whose cups are all turned',
  isTimed: false,
  ask: (answers, { season }) => {
    const open = openVisits(season);
    return firstOpen(answers, [
      'visit',
      () =>
        askChoice(
          'visit',
          open.length === 0
            ? 'No visit is open.'
            : `Which visit?${open.length === 1 ? ` Enter: ${open[0]!.visit}` : ''}`,
          open.map(({ visit, yard }) => ({ value: visit, text: visitText(season, visit, yard) })),
          open.length === 1 ? open[0]!.visit : null,
        ),
    ]);
  },
  summary: (answers) => `Close visit ${answers.get('visit')}`,
  facts: (answers, { season }, entering) => closeVisit(season, answers.get('visit') as VisitId, entering),
  zone: (answers, { season }) => season.visits.get(answers.get('visit') as VisitId)?.zone ?? 'UTC',
};

export const RESULTS: Form = {
  name: 'results',
  title: 'What came out of a visit',
  isTimed: false,
  isLookup: true,
  ask: (answers, { season }) => {
    const visits = [...season.visits.values()].reverse();
    if (visits.length === 1) return null;
    return firstOpen(answers, [
      'visit',
      () =>
        askChoice(
          'visit',
          visits.length === 0 ? 'There is no visit yet.' : 'Which visit?',
          visits.map(({ visit, yard }) => ({ value: visit, text: visitText(season, visit, yard) })),
          null,
        ),
    ]);
  },
  summary: (answers) => `Results of visit ${answers.get('visit')}`,
  facts: () => [],
  zone: (_answers, { zone }) => zone,
};

/** A visit with how far it is. */
function visitText(season: Season, visit: VisitId, yard: string): string {
  const cups = cupsOf(season, visit);
  const turned = cups.filter((cup) => !isExposed(cup));
  return `${visit}  yard ${yard}  ${turned.length} of ${cups.length} cups turned`;
}
