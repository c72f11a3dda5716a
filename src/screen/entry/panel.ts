import { fitted, fittedEnd, type Line, span, spread, widthOf, wrapped } from '../line.js';
import type { Desk } from './desk.js';
import { CONFIRM, type Filling, type Known, otherName, questionOf, timesIn } from './form.js';
import { MENU, SETTINGS } from './menu.js';

/** The lines at the bottom of the screen, in which the crew types. */

/** What the keys of the panel depend on. */
export interface PanelKeys {
  readonly unit: 'C' | 'F';
  readonly muted: boolean;
  /** Which page of carriers is shown of how many, from 1. */
  readonly page: number;
  readonly pages: number;
}

/** Said of the whole screen, on every frame. */
export const CAUTION = 'for the passenger - never while driving';

const CURSOR = '_';
/** Lines of offers in a form. */
const OFFER_LINES_MAX = 6;

export function panelLines(desk: Desk, known: Known, keys: PanelKeys, width: number): Line[] {
  const said: Line[] =
    desk.said === null
      ? []
      : wrapped(desk.said.text, width, desk.said.isProblem ? 'alarm' : 'good').slice(0, 2);
  if (desk.filling !== null) return [...said, ...formLines(desk.filling, known, width)];
  return [
    ...said,
    ...menuLines(width),
    ...typingLines('number or cup label', desk.line, width),
    [span(fitted(liveKeys(keys, width), width), 'quiet')],
  ];
}

function formLines(filling: Filling, known: Known, width: number): Line[] {
  const question = questionOf(filling, known);
  const offers = question.choices.map(({ text }, index) => `${index + 1} ${text}`);
  const { shown, part } = offersOn(offers, filling.offers, width);
  const other = question.key === CONFIRM ? otherName(known) : null;
  const keys = [
    'Enter goes on  * back  + seen',
    ...(part === null ? [] : [`- more: ${part}`]),
    ...(other === null ? [] : [`/ by ${other}`]),
  ];
  return [
    titleLine(filling, width),
    ...(question.caution === undefined ? [] : wrapped(question.caution, width, 'watch')),
    ...shown,
    ...(filling.problem === null ? [] : wrapped(filling.problem, width, 'alarm')),
    ...wrapped(question.prompt, width, 'plain'),
    ...typingLines('', filling.typed, width),
    [span(fitted(keys.join('  '), width), 'quiet')],
  ];
}

/** What is being entered and, since a form may be left half typed, for which cup and for when. */
function titleLine({ form, answers }: Filling, width: number): Line {
  const { at } = timesIn(answers);
  const about = [answers.get('cup') ?? '', at === null ? '' : `at ${at}`].filter((part) => part !== '');
  const told = about.join(' ');
  const title = fitted(form.title, width - (told === '' ? 0 : told.length + 2));
  return told === '' ? [span(title, 'title')] : spread([span(title, 'title')], [span(told, 'title')], width);
}

/** One page of what is offered, and which part of it that is; null when it is all. */
function offersOn(offers: readonly string[], page: number, width: number) {
  const inPage = OFFER_LINES_MAX * columnsIn(offers, width);
  if (offers.length <= inPage) return { shown: columnsOf(offers, width), part: null };
  const from = (page % Math.ceil(offers.length / inPage)) * inPage;
  const shown = offers.slice(from, from + inPage);
  return { shown: columnsOf(shown, width), part: `${from + 1}-${from + shown.length} of ${offers.length}` };
}

const widestOf = (offers: readonly string[]): number =>
  Math.max(1, ...offers.map(({ length }) => length)) + 2;
const columnsIn = (offers: readonly string[], width: number): number =>
  Math.max(1, Math.min(Math.floor(width / widestOf(offers)), Math.ceil(offers.length / 2)));

/** Offers below each other in as many columns as fit. */
function columnsOf(offers: readonly string[], width: number): Line[] {
  const widest = widestOf(offers);
  const columns = columnsIn(offers, width);
  const height = Math.ceil(offers.length / columns);
  return Array.from({ length: height }, (_, row): Line => {
    const cells = Array.from({ length: columns }, (__, column) => offers[column * height + row] ?? '');
    return [
      span(
        fitted(
          cells
            .map((cell) => cell.padEnd(widest))
            .join('')
            .trimEnd(),
          width,
        ),
      ),
    ];
  });
}

/** Short words on as few lines as they need, well apart where that takes no further line. */
function flowed(words: readonly string[], width: number): Line[] {
  const [apart, close] = [joined(words, '  ', width), joined(words, ' ', width)];
  const lines = close.length < apart.length ? close : apart;
  return lines.map((text): Line => [span(fitted(text, width))]);
}

function joined(words: readonly string[], between: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of words) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + between.length + word.length <= width)
      lines[lines.length - 1] = `${last}${between}${word}`;
    else lines.push(word);
  }
  return lines;
}

/** What is typed, its end always in sight, and the caution beside it or below. */
function typingLines(hint: string, typed: string, width: number): Line[] {
  const start = '> ';
  const warning = span(CAUTION, 'watch');
  const text = span(`${start}${fittedEnd(`${typed}${CURSOR}`, width - start.length)}`, 'title');
  const hinted: Line = typed === '' && hint !== '' ? [text, span(`  ${hint}`, 'quiet')] : [text];
  const room = width - widthOf([warning]) - 2;
  if (widthOf(hinted) <= room) return [spread(hinted, [warning], width)];
  if (widthOf([text]) <= room) return [spread([text], [warning], width)];
  return [[text], [span(fitted(CAUTION, width), 'watch')]];
}

/** As many keys as fit, those that are needed first, all of them on a number pad too; the rest is on the help page. */
function liveKeys({ unit, muted, page, pages }: PanelKeys, width: number): string {
  const [who, mute, sun, quit] = SETTINGS.map(({ name }, index) => `${MENU.length + 1 + index} ${name}`);
  const keys = [
    // Whoever does not know that it is mute waits for a sound in vain.
    ...(muted ? [mute!.replace('mute', 'unmute')] : []),
    ...(pages > 1 ? [`- page ${page}/${pages}`] : []),
    '+ seen',
    '* back',
    '. help',
    quit!,
    ...(muted ? [] : [mute!]),
    `/ °${unit === 'C' ? 'F' : 'C'}`,
    who!,
    sun!,
  ];
  return keys.reduce((line, key) => (line.length + 2 + key.length <= width ? `${line}  ${key}` : line));
}

const FULL_WIDTH = 80;

/** The list: all of it where there is room, else the day's work, the rest being on the help page. */
function menuLines(width: number): Line[] {
  const items = MENU.map(({ name }, index) => `${index + 1} ${name}`);
  if (width >= FULL_WIDTH) return flowed(items, width);
  const all = `. all ${MENU.length + SETTINGS.length}`;
  const room = width - all.length - 2;
  const line = items.reduce((told, item) =>
    told.length + 2 + item.length <= room ? `${told}  ${item}` : told,
  );
  return [[span(`${line}  ${all}`)]];
}
