import type { CupLabel, VisitId } from '../../units/ids.js';
import { type Cup, inOrder } from '../../visit/cup.js';
import { entryText } from '../../visit/cupHistory.js';
import { cupsOf, type Season } from '../../visit/season.js';
import { clockIn } from './clockIn.js';

/** Pages of text beside the live picture. */

/** What is on record of a cup, without a ruling. */
export function cupLines(season: Season, label: CupLabel): string[] {
  const cup = season.cups.get(label);
  if (!cup) return [`There is no cup ${label}.`];
  const { zone, yard, visit } = season.visits.get(cup.visit)!;
  return [
    `Cup ${cup.cup}, visit ${visit} to yard ${yard}${cup.colony === null ? '' : `, colony ${cup.colony}`}${cup.kind === 'strip' ? '' : ', without a strip'}`,
    '',
    ...inOrder(cup.entries).map((entry) => `${clockIn(entry.fact.at, zone)}  ${entryText(entry)}`),
    '',
    countsText(cup),
  ];
}

function countsText({ counts, turn }: Cup): string {
  if (turn === null) return 'Not turned yet.';
  const word = (count: number | null) => count ?? 'not read';
  return `Tray ${word(counts.tray)}, wash ${word(counts.wash)}, bees ${word(counts.bees)}.`;
}

/**
 * What came out of a visit, or what is still missing: no ruling and no efficacy is shown before its counts are complete,
 * for whoever counts should not know.
 *
 * @param resultOf the result in words
 */
export function resultPage(season: Season, visit: string, resultOf: (visit: string) => string): string[] {
  const cups = cupsOf(season, visit as VisitId).filter(({ spoiled }) => spoiled === null);
  const riding = cups.filter(({ turn }) => turn === null);
  const unread = (field: 'tray' | 'wash' | 'bees') =>
    cups.filter(({ turn, counts }) => turn !== null && counts[field] === null);
  const missing = [
    listed('to be turned', riding),
    listed('tray not read', unread('tray')),
    listed('wash not read', unread('wash')),
  ].filter((line) => line !== '');
  if (missing.length === 0) {
    const bees = listed('bees not numbered, so no infestation', unread('bees'));
    return [...(bees === '' ? [] : [bees, '']), ...resultOf(visit).split('\n')];
  }
  return [
    `The result of visit ${visit} waits for its counts, so that whoever counts is not led by it.`,
    '',
    ...missing,
    '',
    'Without them for good: visit result on the command line shows what there is.',
  ];
}

const listed = (what: string, cups: readonly Cup[]): string =>
  cups.length === 0 ? '' : `${cups.length} ${what}: ${cups.map(({ cup }) => cup).join(', ')}`;
