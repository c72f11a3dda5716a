import type { Store } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import type { Season, Visit } from '../visit/season.js';
import { beekeeperPage } from './beekeeper/beekeeperPage.js';
import { findingsOf } from './beekeeper/findings.js';
import { labPage } from './lab/labPage.js';
import { materialOf } from './lab/material.js';
import { ENGLISH } from './words/english.js';

/** A page, and where it is put. */
export interface ReportFile {
  readonly path: string;
  readonly text: string;
}

/** Stands for a person's words where those are left out. */
export const LEFT_OUT = '(left out)';

/**
 * The pages of some visits as files: `reports/beekeeper.html` for all of them, `reports/lab-VISIT.html` for each.
 *
 * @param withPeople whether names, reasons and notes are told; colony labels and yard codes always are
 */
export function reportFiles(
  store: Store,
  season: Season,
  visits: readonly Visit[],
  {
    now,
    version,
    withPeople,
  }: { readonly now: UtcMs; readonly version: string; readonly withPeople: boolean },
): ReportFile[] {
  const readable: Store = withPeople ? store : { ...store, text: () => LEFT_OUT };
  const findings = visits.map((visit) => findingsOf(readable, season, visit, now, false));
  const origin = { now, version, head: store.head() };
  return [
    { path: 'reports/beekeeper.html', text: beekeeperPage(ENGLISH, findings, null, origin) },
    ...visits.map((visit) => ({
      path: `reports/lab-${visit.visit}.html`,
      text: labPage(materialOf(readable, season, visit, now, version)),
    })),
  ];
}
