import { describe, expect, it } from 'vitest';
import { isRead, unreadCups, unreadLines } from '../../src/screen/unread.js';
import type { Fact } from '../../src/store/facts.js';
import { foldSeason } from '../../src/visit/season.js';
import { at, label, loaded, SEVEN, turned, visit, visitOpened } from './invented.js';
import { texts } from './views.js';

const counted = (cup: string, tray: number | null, wash: number | null): Fact => ({
  type: 'cup-counted',
  cup: label(cup),
  at: at(300),
  tray,
  wash,
  bees: null,
});
const seasonOf = (...facts: Fact[]) => foldSeason(facts.map((fact, seq) => ({ seq, recorded: SEVEN, fact })));
const FACTS = [
  visitOpened(),
  loaded('riding', 0),
  ...['later', 'first', 'read'].map((cup) => loaded(cup, 0)),
  turned('first', 180),
  turned('later', 181),
  turned('read', 182),
  counted('first', 0, null),
  counted('read', 3, 2),
];

describe('unreadCups()', () => {
  it('gives the turned cups of which a count is missing, in the order of their turns', () => {
    expect(unreadCups(seasonOf(...FACTS))).toEqual([
      { cup: 'first', colony: 'c01', yard: 'sedge-12', tray: true, wash: false },
      { cup: 'later', colony: 'c01', yard: 'sedge-12', tray: false, wash: false },
    ]);
  });

  it('gives those of a visit that is closed as well, until they are read or spoiled', () => {
    const closed = [...FACTS, { type: 'visit-closed', visit, at: at(400) }] as const;
    const named = (...more: Fact[]) => unreadCups(seasonOf(...closed, ...more)).map(({ cup }) => cup);
    expect(named()).toEqual(['first', 'later']);
    expect(named(counted('first', null, 2))).toEqual(['later']);
    const spoiled = { type: 'cup-spoiled', cup: label('later'), at: at(500), why: 'ab'.repeat(32) } as const;
    expect(named(counted('first', null, 2), spoiled)).toEqual([]);
  });
});

describe('unreadLines()', () => {
  it('tells what is not read, and never a number', () => {
    expect(texts(unreadLines(unreadCups(seasonOf(...FACTS)), 80))).toEqual([
      'To be read: 2. What is not read stays empty, never 0.',
      '  tray read      wash not read  first c01 sedge-12',
      '  tray not read  wash not read  later c01 sedge-12',
    ]);
    expect(unreadLines([], 80)).toEqual([]);
  });
});

describe('isRead()', () => {
  it('takes a count of 0 for read, and half of the counts not for enough', () => {
    const cups = seasonOf(...FACTS, counted('later', 0, 0)).cups;
    expect([...cups.values()].map((cup) => [cup.cup, isRead(cup)])).toEqual([
      ['riding', false],
      ['later', true],
      ['first', false],
      ['read', true],
    ]);
  });
});
