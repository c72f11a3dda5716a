import { told } from '../../exposure/reasons.js';
import { rulesToJson } from '../../exposure/ruleSet.js';
import type { Gap } from '../../exposure/types.js';
import type { Fact } from '../../store/facts.js';
import { between, inMinutes, later, minutes, type UtcMs, utcMs } from '../../units/time.js';
import { clockStateInWords, resetInWords, warningInWords } from '../../visit/boardInWords.js';
import { A_NAME } from '../../visit/keptWords.js';
import { type Html, html } from '../html.js';
import { table } from '../table.js';
import { lostProbe, type Warned } from './lostProbe.js';
import type { Material } from './material.js';
import { minutesTold } from './tell.js';

interface GapRow extends Gap {
  readonly cup: string;
}

/** Every stretch of every exposure in which nothing was read, or the cup was in no slot. */
export function gaps({ cups, when }: Material): Html {
  const rows = cups.flatMap(({ cup, ruling }): GapRow[] =>
    (ruling?.gaps ?? []).map((gap) => ({ cup: cup.cup, ...gap })),
  );
  return html`<h2>Gaps</h2>
${
  rows.length === 0
    ? html`<p>None.</p>`
    : html`<p>Time in no slot counts too: between load and seat, and while a cup was lifted.</p>${table<GapRow>(
        'Gaps',
        [
          { head: 'cup', cell: ({ cup }) => cup },
          { head: 'from', cell: ({ from }) => when(from) },
          { head: 'to', cell: ({ to }) => when(to) },
          {
            head: 'minutes',
            isNumber: true,
            cell: ({ from, to }) => minutesTold(inMinutes(between(from, to))),
          },
        ],
        rows,
      )}`
}`;
}

/** Boards' clocks are told of this long before the opening and after the last turn, when logs are read in the evening. */
const BEFORE = minutes(-60);
const AFTER = minutes(24 * 60);

/** What boards said of themselves and of time around the visit: boots, clocks, warnings, lost pages. */
export function clockEvents({ season, visit, cups, facts, when, names }: Material): Html {
  const carriers = new Set(cups.flatMap(({ cup }) => cup.places.map(({ carrier }) => carrier)));
  const boards = new Set([...carriers].flatMap((carrier) => season.carriers.get(carrier)?.board ?? []));
  const end = utcMs(Math.max(visit.opened, ...cups.map(({ exposure }) => exposure.turn)));
  const from = later(visit.opened, BEFORE);
  const rows = facts.flatMap(({ fact }): { at: UtcMs; board: string; what: string }[] => {
    const what = eventInWords(fact, (warned) => lostProbe(warned, season, cups, facts, names));
    if (what === null || !('board' in fact) || !boards.has(fact.board)) return [];
    return fact.at < from || fact.at > later(end, AFTER) ? [] : [{ at: fact.at, board: fact.board, what }];
  });
  return html`<h2>Boots, clocks and warnings of the boards</h2>
${
  rows.length === 0
    ? html`<p>None on record.</p>`
    : table<(typeof rows)[number]>(
        'Clock events',
        [
          { head: 'when', cell: ({ at }) => when(at) },
          { head: 'board', cell: ({ board }) => html`<code>${board}</code>` },
          { head: 'what', cell: ({ what }) => what },
        ],
        rows,
      )
}`;
}

const PROOFS = {
  host: 'their times proven by a host that heard it',
  clock: "their times proven by the board's clock",
  neighbours: 'their times proven by the boots before and after',
  nothing: 'not all of their times proven',
} as const;

const warned = ({ warning, detail }: Warned, lost: ReturnType<typeof lostProbe>): string =>
  lost === null
    ? warningInWords(warning, detail)
    : `${warningInWords(warning, detail, lost.probe)}; ${lost.held}`;

function eventInWords(fact: Fact, lost: (warned: Warned) => ReturnType<typeof lostProbe>): string | null {
  switch (fact.type) {
    case 'board-booted':
      return `boot ${fact.boot}: ${resetInWords(fact.resetCause)}; firmware ${fact.firmware}, ${clockStateInWords(fact.clock)}`;
    case 'boot-read':
      return `boot ${fact.boot} read from its log: ${fact.scans} scans, ${PROOFS[fact.provenBy]}${fact.withinMs === null ? '' : `, within ${told(fact.withinMs / 1000)} s`}`;
    case 'clock-compared':
      return fact.differenceMs === null
        ? `boot ${fact.boot}: the board's clock knew no time`
        : `boot ${fact.boot}: the board's clock was ${told(Math.abs(fact.differenceMs) / 1000)} s ${fact.differenceMs < 0 ? 'behind' : 'ahead of'} the host's`;
    case 'clock-disproved':
      return `boot ${fact.boot}: the board's clock told a time ${told(Math.abs(fact.differenceMs) / 1000)} s ${fact.differenceMs < 0 ? 'behind' : 'ahead of'} what its counter comes to, and was set since: what it told until then proves nothing`;
    case 'board-warned':
      return `boot ${fact.boot}: ${warned(fact, fact.warning === 'probe-lost' ? lost(fact) : null)}`;
    case 'pages-lost':
      return `pages ${fact.first} to ${fact.last} of its log lost`;
    case 'nothing-stored':
      return `nothing could be stored for ${told(fact.lastedMs / 60_000)} min (${fact.why}): ${fact.scans} scans came, ${fact.hasMemory ? 'kept in its memory' : 'and are a gap'}`;
    default:
      return null;
  }
}

/** Each vehicle that opened the visit planned its own cups. */
const declaredInWords = ({ openings }: Material['visit']): string =>
  openings
    .map(({ declaredCups }) => (declaredCups === null ? 'no number' : String(declaredCups)))
    .join(' and ') + (openings.length > 1 ? `, by ${openings.length} stores` : '');

/** By what all of this was made: rule set, visit, versions, chains. */
export function versions({ rules, visit, facts, chains, text, when, version, now }: Material): Html {
  const openings = facts.flatMap(({ fact }) =>
    fact.type === 'visit-opened' && fact.visit === visit.visit ? [fact] : [],
  );
  // Each vehicle that opened the visit told them itself.
  const told = (of: (opening: (typeof openings)[number]) => string | null, otherwise: string): string =>
    [...new Set(openings.flatMap((opening) => of(opening) ?? []))].join('; ') || otherwise;
  const words = (ref: string | undefined, what: string) => (ref === undefined ? null : text(ref, '', what));
  const about: (readonly [string, string])[] = [
    ['yard', visit.yard],
    ['opened', `${when(visit.opened)}, by ${told(({ who }) => words(who, A_NAME), 'nobody named')}`],
    ['closed', visit.closed === null ? 'still open' : when(visit.closed)],
    ['zone', visit.zone],
    ['cups declared', declaredInWords(visit)],
    ['piece of strip', told(({ piece }) => piece ?? null, 'not told')],
    ['treatment history', told(({ history }) => words(history, ''), 'not told')],
    ['report', `made ${when(now)} by stillwarm ${version}`],
  ];
  const pair = [
    { head: 'what', cell: ([name]: readonly [string, string | number]) => name },
    { head: 'value', cell: ([, value]: readonly [string, string | number]) => value },
  ];
  return html`<h2>Visit, rule set, versions, chain</h2>
${table('Visit', pair, about)}
<h3>Rule set</h3>
<p>Settings, not published limits.</p>
<div class="pairs">${table('Rule set', pair, Object.entries(rulesToJson(rules)))}</div>
<h3>Chain of facts</h3>
<p>Held against the store or a bundle later: the same head means that no fact before it was changed, taken out or put in. It cannot show that the last facts were cut off, unless their number is compared too.</p>
${table<(typeof chains)[number]>(
  'Chains',
  [
    { head: 'store', cell: ({ store }) => html`<code>${store}</code>` },
    { head: 'facts', isNumber: true, cell: ({ count }) => count },
    { head: 'head', cell: ({ hash }) => html`<code>${hash}</code>` },
  ],
  chains,
)}`;
}
