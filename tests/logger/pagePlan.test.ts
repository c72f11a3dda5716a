import { describe, expect, it } from 'vitest';
import {
  acknowledgeable,
  type LogView,
  missingRun,
  PAGE_TRIES_MAX,
  RUN_MAX,
} from '../../src/logger/pagePlan.js';

const view = (change: Partial<LogView>): LogView => ({
  oldest: 1,
  open: 11,
  newest: 10,
  held: new Set(),
  waiting: new Map(),
  tries: new Map(),
  ...change,
});
const pages = (from: number, to: number) => Array.from({ length: to - from + 1 }, (_, at) => from + at);

describe('missingRun()', () => {
  it.each<[string, Partial<LogView>, { page: number; count: number } | null]>([
    ['everything at first', {}, { page: 1, count: 10 }],
    ['what is behind the held ones', { held: new Set(pages(1, 4)) }, { page: 5, count: 6 }],
    ['a hole first', { held: new Set([1, 2, 5, 6]) }, { page: 3, count: 2 }],
    ['nothing when all are held', { held: new Set(pages(1, 10)) }, null],
    ['nothing older than the ring holds', { oldest: 9, held: new Set([10]) }, { page: 9, count: 1 }],
    [
      'no page that was asked for in vain too often',
      { held: new Set(pages(2, 10)), tries: new Map([[1, PAGE_TRIES_MAX]]) },
      null,
    ],
    [
      'a page that may still come',
      { held: new Set(pages(2, 10)), tries: new Map([[1, PAGE_TRIES_MAX - 1]]) },
      { page: 1, count: 1 },
    ],
    [
      'no page that is here and not durable yet',
      { held: new Set(pages(1, 10)), waiting: new Map([[7, 0]]) },
      null,
    ],
    ['at most so many in one go', { newest: 500 }, { page: 1, count: RUN_MAX }],
    [
      'onwards when nobody knows the end',
      { newest: null, held: new Set([1, 2]) },
      { page: 3, count: RUN_MAX },
    ],
    ['nothing of an empty log', { newest: 0, open: 1 }, null],
  ])('asks for %s', (_name, change, run) => {
    expect(missingRun(view(change))).toEqual(run);
  });
});

describe('acknowledgeable()', () => {
  it.each<[string, Partial<LogView>, number | null]>([
    ['nothing while the oldest is missing', { held: new Set(pages(2, 10)) }, null],
    ['up to the first hole', { held: new Set([1, 2, 3, 5]) }, 3],
    [
      'over a page that is lost for good',
      { held: new Set([1, 3]), tries: new Map([[2, PAGE_TRIES_MAX]]) },
      3,
    ],
    ['all finished pages, never the open one', { held: new Set(pages(1, 11)) }, 10],
    [
      'up to the first that is not durable, though later ones are',
      { held: new Set(pages(1, 10)), waiting: new Map([[4, 0]]) },
      3,
    ],
    [
      'no lost page that came after all and is not durable',
      { held: new Set([1, 2, 3]), waiting: new Map([[2, 0]]), tries: new Map([[2, PAGE_TRIES_MAX]]) },
      1,
    ],
    ['from where the ring begins', { oldest: 8, held: new Set([8, 9]) }, 9],
  ])('gives %s', (_name, change, page) => {
    expect(acknowledgeable(view(change))).toBe(page);
  });
});
