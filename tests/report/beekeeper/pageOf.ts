import { beekeeperPage } from '../../../src/report/beekeeper/beekeeperPage.js';
import { findingsOf } from '../../../src/report/beekeeper/findings.js';
import type { ActionLevel } from '../../../src/report/beekeeper/pictures.js';
import { chainHeads } from '../../../src/report/chainHeads.js';
import { ENGLISH } from '../../../src/report/words/english.js';
import type { Words } from '../../../src/report/words/words.js';
import type { Store } from '../../../src/store/store.js';
import { AFTERWARDS, type InventedYard, inventYards, visitsIn } from '../inventedYards.js';

interface Wanted {
  readonly words?: Words;
  readonly isFinal?: boolean;
  readonly action?: ActionLevel;
}

/** Puts yards into a store and tells what was found in them. */
export function findingsFrom(store: Store, yards: readonly InventedYard[], isFinal = false) {
  inventYards(store, yards);
  const { season, visits } = visitsIn(store);
  return visits.map((visit) => findingsOf(store, season, visit, AFTERWARDS, isFinal));
}

/** The page of yards that are put into a store. */
export function pageOf(store: Store, yards: readonly InventedYard[], wanted: Wanted = {}): string {
  const all = findingsFrom(store, yards, wanted.isFinal);
  const origin = { now: AFTERWARDS, version: '0.0.0', chains: chainHeads(store) };
  return beekeeperPage(wanted.words ?? ENGLISH, all, wanted.action ?? null, origin);
}

/** The words of a page as they are read, one block a line. */
export const textOf = (page: string): string =>
  page
    .replace(/<style>[\s\S]*?<\/style>|<svg[\s\S]*?<\/svg>/g, '')
    .replace(/<\/(?:p|li|h[1-3]|tr|figcaption|title)>/g, '\n')
    .replace(/<\/?span[^>]*>/g, '')
    .replace(/<[^>]+>/g, ' ')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&')
    .replaceAll('\u2060', '')
    .replace(/[ \t\u00a0]+/g, ' ');
