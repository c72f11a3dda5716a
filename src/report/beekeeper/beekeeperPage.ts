import type { YardEntry } from '../../../shared/index.js';
import type { UtcMs } from '../../units/time.js';
import { inZone } from '../../units/zone.js';
import type { ChainHead } from '../chainHeads.js';
import { type Html, html } from '../html.js';
import { page } from '../page.js';
import { cut } from '../rangeChart.js';
import { table } from '../table.js';
import { bestOfHundred, day, number, percentIn, rangeOfHundred, testsOf } from '../words/figures.js';
import type { Words } from '../words/words.js';
import { armIn, type CoolCups, type Findings, firstStep, type LeftOut, type WaitingCup } from './findings.js';
import { messagesOf } from './message.js';
import { type ActionLevel, colonyPictures, resultPicture } from './pictures.js';

/** What a page says of itself: small at its end. */
export interface Origin {
  readonly now: UtcMs;
  readonly version: string;
  /** Of each chain of facts that it rests on: its store, how many facts, and the hash of the last, to be held against it later. */
  readonly chains: readonly ChainHead[];
}

/**
 * One printed page for all yards of a beekeeper. Yards that wait for a wash tell what the trays held and nothing else.
 *
 * @param all at least one
 */
export function beekeeperPage(
  words: Words,
  all: readonly Findings[],
  action: ActionLevel | null,
  origin: Origin,
): string {
  const found = all.filter(({ waiting }) => waiting === null);
  const title = found.length > 0 ? words.title : words.waiting.title;
  return page({
    language: words.locale.split('-')[0]!,
    title,
    isDense: true,
    body: html`<h1>${title}</h1>
${tested(words, all)}
${found.length > 0 ? result(words, found) : null}
${found.length > 0 ? colonies(words, found, action) : null}
${found.length > 0 ? leftOut(words, found) : null}
${all.filter(({ waiting }) => waiting !== null).length > 0 ? waitingPart(words, all) : null}
${advice(words, all)}`,
    foot: foot(words, all, origin),
  });
}

function tested(words: Words, all: readonly Findings[]): Html {
  const { tested, yard } = words;
  return html`<h2>${tested.head}</h2>
<p>${tested.how(all[0]!.rules.exposureMinutes)}</p>
<ul>
${all.map(
  ({ yard: code, at, zone, cups, arms }) =>
    html`<li><b>${yard(code, day(words, at, zone))}:</b> ${tested.yard({ ...cups, arms: [...arms.values()].map(words.arm) })}</li>\n`,
)}</ul>`;
}

function result(words: Words, all: readonly Findings[]): Html {
  const { found } = words;
  return html`<h2>${found.head}</h2>
<ul>
${all.map((each) =>
  each.entries.length === 0
    ? html`<li><b>${words.part(each.yard, null)}:</b> ${found.noStrip}</li>\n`
    : each.entries.map((entry) => html`<li>${entryInWords(words, each, entry, isAlike(all))}</li>\n`),
)}</ul>
${all.some(({ entries }) => entries.length > 0) ? pictured(words, all) : null}`;
}

function pictured(words: Words, all: readonly Findings[]): Html {
  const { found } = words;
  const lines = [...new Set(all.map(({ rules }) => percentIn(words, rules.line)))];
  return html`${resultPicture(words, all)}
<p class="faint">${lines.map((line) => `${found.line(line)} `)}${found.picture} ${surely(words, all)}</p>`;
}

/** How sure the ranges are, told once when all are alike. */
const surely = (words: Words, all: readonly Findings[]): string =>
  isAlike(all) ? words.found.sure(...testsOf(words, all[0]!.level)) : '';

const isAlike = (all: readonly Findings[]): boolean =>
  levelsOf(all).length === 1 && all.every(({ entries }) => entries.every(({ looks }) => looks === undefined));

const levelsOf = (all: readonly Findings[]): number[] => [...new Set(all.map(({ level }) => level))];

function entryInWords(words: Words, findings: Findings, entry: YardEntry, isAlikeOnPage: boolean): Html {
  const { found } = words;
  const { yard, rules, entries } = findings;
  const line = percentIn(words, rules.line);
  const verdict = found.verdict(entry.verdict, line);
  return html`<b>${words.part(yard, entries.length > 1 ? armIn(words, findings, entry.arm) : null)}: ${verdict}.</b> ${sentences(words, findings, entry, isAlikeOnPage).join(' ')}`;
}

function sentences(
  words: Words,
  { rules, cool, changed, level }: Findings,
  entry: YardEntry,
  isAlikeOnPage: boolean,
): string[] {
  const { found } = words;
  const { efficacy, interval, verdict, cups, moreCups, allCups, looks } = entry;
  const line = percentIn(words, rules.line);
  const said: string[] = [];
  if (efficacy === null)
    said.push(
      cups.valid - cups.unread > 0 && cups.valid - cups.unread === cups.empty
        ? found.noMites
        : found.nothingCounts,
    );
  else if (interval === null) said.push(found.noRange(bestOfHundred(words, efficacy, rules.line)));
  else
    said.push(
      found.range(...rangeOfHundred(words, interval, rules.line), bestOfHundred(words, efficacy, rules.line)),
    );
  if (interval !== null && looks !== undefined)
    said.push(found.looks(looks.count, ...testsOf(words, looks.level)));
  else if (interval !== null && !isAlikeOnPage) said.push(found.sure(...testsOf(words, level)));
  if (interval !== null && verdict !== 'above-line' && verdict !== 'below-line')
    said.push(found.moreCups(moreCups));
  if (cups.excluded > 0 && allCups.efficacy !== null) {
    const [low, high] =
      allCups.interval === null ? [null, null] : rangeOfHundred(words, allCups.interval, rules.line);
    said.push(found.withLeftOut(found.verdict(allCups.verdict, line), low, high));
  }
  const { rulings, counts, withoutEither } = changed.get(entry.arm) ?? NOTHING_CHANGED;
  if (rulings !== null) said.push(found.byPerson(rulings.when, found.verdict(rulings.without.verdict, line)));
  if (counts !== null)
    said.push(found.corrected(counts.corrected, found.verdict(counts.without.verdict, line)));
  // Where no change moves the answer to another side, the two sentences before say it all.
  const sides = [entry, rulings?.without, counts?.without, withoutEither].map((each) => each?.verdict);
  if (withoutEither !== null && new Set(sides).size > 1)
    said.push(found.withoutEither(found.verdict(withoutEither.verdict, line)));
  const cooled = cool.get(entry.arm);
  if (cooled !== undefined && cooled.cool > 0) said.push(found.cool(cooled.cool, cooled.of));
  return said;
}

const NOTHING_CHANGED = { rulings: null, counts: null, withoutEither: null };

function colonies(words: Words, found: readonly Findings[], action: ActionLevel | null): Html {
  const { head, how, actionLevel } = words.colonies;
  const level =
    action === null
      ? ''
      : ` ${actionLevel(number(words, action.per100, Number.isInteger(action.per100) ? 0 : 1), action.source, action.date)}`;
  return html`<h2>${head}</h2>
<p>${levelsOf(found).map((each) => how(...testsOf(words, each)))}${level}</p>
${colonyPictures(words, found, action)}`;
}

/** More labels than this are counted, so that a long list does not push the rest off the page. */
const NAMED_MAX = 10;

const BY_SENSOR: ReadonlySet<LeftOut['why']> = new Set(['cold', 'hot', 'short', 'long', 'unproven']);

function leftOut(words: Words, all: readonly Findings[]): Html {
  const { head, none, because, byWarmth } = words.leftOut;
  const some = all.filter(({ leftOut }) => leftOut.length > 0);
  const isPersonHeard = all.some(({ changed }) =>
    [...changed.values()].some(({ rulings }) => rulings !== null),
  );
  const named = (cups: readonly string[]) =>
    [...cups.slice(0, NAMED_MAX), ...(cups.length > NAMED_MAX ? ['…'] : [])].join(', ');
  return html`<h2>${head}</h2>
${
  some.length === 0
    ? html`<p>${none}</p>`
    : html`<ul>
${some.map(
  ({ yard, leftOut }) =>
    html`<li><b>${words.part(yard, null)}:</b> ${leftOut.map(({ why, cups }) => html`${unbrokenIn(because(cups.length, why, named(cups)), cups)} `)}</li>\n`,
)}</ul>
${some.some(({ leftOut }) => leftOut.some(({ why }) => BY_SENSOR.has(why))) ? html`<p class="faint">${byWarmth(isPersonHeard)}</p>` : null}`
}`;
}

function waitingPart(words: Words, all: readonly Findings[]): Html {
  const { head, note, count } = words.waiting;
  const some = all.filter(({ waiting }) => waiting !== null);
  const step = firstStep(some);
  return html`<div class="note"><h2>${head(step)}</h2>
<p>${note(step)}</p></div>
<div class="row">${some.map(
    ({ yard, waiting }) =>
      html`<figure class="third"><figcaption><b>${words.part(yard, null)}.</b> ${count(
        waiting!.filter(({ next }) => next === 'none').length,
        waiting!.length,
      )}</figcaption>${waitingTable(words, yard, waiting!)}</figure>`,
  )}</div>`;
}

const LABEL_LETTERS_MAX = 14;

/** A label that fits its column is not broken at its hyphens. */
const unbroken = (label: string) =>
  label.length > LABEL_LETTERS_MAX ? label : html`<span class="short">${label}</span>`;

/** A sentence whose labels are not broken. */
const unbrokenIn = (sentence: string, labels: readonly string[]): Html[] =>
  sentence.split(/([^\s(),]+)/).map((part) => html`${labels.includes(part) ? unbroken(part) : part}`);

function waitingTable(words: Words, yard: string, cups: readonly WaitingCup[]): Html {
  const { cup, colony, tray, next, steps } = words.waiting;
  return table<WaitingCup>(
    words.part(yard, null),
    [
      { head: cup, cell: (row) => unbroken(row.cup) },
      {
        head: colony,
        cell: (row) => (row.colony === null ? null : unbroken(cut(row.colony, LABEL_LETTERS_MAX))),
      },
      { head: tray, isNumber: true, cell: (row) => row.tray },
      { head: next, cell: (row) => steps[row.next] },
    ],
    cups,
  );
}

/** What holds for every page: cautions first, then limits, then the sentence to pass on. */
function advice(words: Words, all: readonly Findings[]): Html {
  const { reasons, limits, again, cautions } = words;
  const isFound = all.some(({ waiting }) => waiting === null);
  const verdicts = new Set(all.flatMap(({ entries }) => entries.map(({ verdict }) => verdict)));
  const isBelow = all.some((findings) => lowOf(findings).length > 0);
  const more = [
    ...(verdicts.has('undecided') ? [again.moreCups] : []),
    ...[...new Set(all.flatMap(({ lacks }) => lacks))].map((lack) => again.lacks[lack]),
  ];
  const messages = all.flatMap((each) => messagesOf(words, each));
  return html`<div class="columns">
${section(cautions.head, html`<p>${cautions.text}</p>`)}${
  isBelow
    ? section(reasons.head, html`<p>${reasons.intro}</p>${bullets(reasons.items(lotsOf(all), coolOf(all)))}`)
    : null
}${
  isFound
    ? [
        section(limits.head, html`<p>${limits.text}</p>`),
        section(again.head, html`<p>${[again.text, ...more].join(' ')}</p>`),
      ]
    : null
}${section(words.message.head, bullets(messages))}</div>`;
}

/** The answers below the line, or not clear yet. */
const lowOf = ({ entries }: Findings): YardEntry[] =>
  entries.filter(({ verdict }) => verdict === 'below-line' || verdict === 'undecided');

/** Lots that such an answer rests on. */
const lotsOf = (all: readonly Findings[]): string[] => [
  ...new Set(
    all.flatMap((findings) =>
      lowOf(findings).flatMap(({ arm }) => {
        const lot = arm === null ? null : (findings.arms.get(arm)?.lot ?? null);
        return lot === null ? [] : [cut(lot, LABEL_LETTERS_MAX)];
      }),
    ),
  ),
];

/** How many of the cups that such an answer rests on were cool. */
function coolOf(all: readonly Findings[]): CoolCups {
  const found = all.flatMap((findings) => lowOf(findings).flatMap(({ arm }) => findings.cool.get(arm) ?? []));
  const sum = (what: keyof CoolCups) => found.reduce((total, each) => total + each[what], 0);
  return { cool: sum('cool'), of: sum('of') };
}

const section = (head: string, body: Html): Html => html`<section><h2>${head}</h2>${body}</section>\n`;
const bullets = (items: readonly string[]): Html =>
  html`<ul>${items.map((item) => html`<li>${item}</li>`)}</ul>`;

function foot({ foot }: Words, all: readonly Findings[], { now, version, chains }: Origin): string {
  const rules = [...new Set(all.map(({ rules }) => foot.rules(rules.name, String(rules.version))))];
  return [
    foot.made(inZone(now, all[0]!.zone), version),
    ...rules,
    ...chains.map(({ store, count, hash }) => foot.chain(store, count, hash)),
  ].join(' ');
}
