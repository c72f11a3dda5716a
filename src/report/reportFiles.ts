import type { Records } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import type { Season, Visit } from '../visit/season.js';
import { beekeeperPage } from './beekeeper/beekeeperPage.js';
import { findingsOf } from './beekeeper/findings.js';
import { chainHeads } from './chainHeads.js';
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

/** By what and for whom pages are made. */
export interface Making {
  readonly now: UtcMs;
  readonly version: string;
  /** Whether names, reasons and notes are told; colony labels and yard codes always are. */
  readonly withPeople: boolean;
}

const readable = (store: Records, { withPeople }: Making): Records =>
  withPeople ? store : { ...store, text: () => LEFT_OUT };

/** The page of all of some visits for their beekeeper. */
export function beekeeperFile(
  store: Records,
  season: Season,
  visits: readonly Visit[],
  making: Making,
): ReportFile {
  const { now, version } = making;
  const findings = visits.map((visit) => findingsOf(readable(store, making), season, visit, now, false));
  return {
    path: 'reports/beekeeper.html',
    text: beekeeperPage(ENGLISH, findings, null, { now, version, chains: chainHeads(store) }),
  };
}

/** The page of one visit for the lab; it tells no ruling while counts are missing, as that for the beekeeper. */
export function labFile(store: Records, season: Season, visit: Visit, making: Making): ReportFile {
  const { now, version } = making;
  return {
    path: `reports/lab-${visit.visit}.html`,
    text: labPage(materialOf(readable(store, making), season, visit, now, version, false)),
  };
}
