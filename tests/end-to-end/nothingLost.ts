import { readPage } from '../../src/carrier/wire/logPage.js';
import { findScenario } from '../../src/emulator/scenarios/index.js';
import type { Store } from '../../src/store/store.js';
import type { RomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import type { BoardOnCable } from './boardOnCable.js';

/** The probes of a board on a cable, and what says whether all that they read is in a store. */
export const roms = findScenario('warm-day')!.carriers[0]!.slots.map(({ rom }) => rom);
const ALL = [utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)] as const;
/** Another value in each scan and of each probe. */
export const felt = (rom: RomId, ms: number) => 24 + 6 * Math.sin(ms / 400_000 + roms.indexOf(rom));
/** The first scan of a boot is not logged. */
const FIRST_LOGGED = 2;
/** Half of the last bit, and what the temperature changes while a probe converts. */
const READ_WITHIN = 1 / 32 + 0.02;

/** The highest page of its log that the board has been told is durable; docs/wire-protocol.md, "Commands". */
export function acknowledged(board: BoardOnCable): number {
  const told = [...board.said().matchAll(/!K,[0-9A-F]{2},([0-9A-F]{6})\*/g)];
  return Math.max(0, ...told.map(([, page]) => Number.parseInt(page!, 16)));
}

/** What is wrong with a store that a logger left, in words: its chain, or a page that was acknowledged and is not there. */
export function faults(opened: Store, toPage: number): string[] {
  const broken = opened.brokenAt();
  const held = new Set(boards(opened).flatMap((id) => opened.pageNumbers(id)));
  const missing = Array.from({ length: toPage }, (_, index) => index + 1).filter((page) => !held.has(page));
  return [
    ...(broken === null ? [] : [`fact ${broken} does not follow`]),
    ...missing.map((page) => `page ${page} was acknowledged and is lost`),
  ];
}
const boards = (opened: Store) => [
  ...new Set(opened.facts().flatMap(({ fact }) => (fact.type === 'board-booted' ? [fact.board] : []))),
];

/** What is wrong with a store that has caught up: scans missing in the row, twice there, or with another's values. */
export function gaps(opened: Store): string[] {
  const found: string[] = [];
  const [id] = boards(opened);
  for (const rom of roms) {
    const readings = opened.readings(rom, ...ALL);
    const scans = readings.map(({ scan }) => scan).sort((a, b) => a - b);
    scans.forEach((scan, index) => {
      if (index === 0 ? scan > FIRST_LOGGED : scan !== scans[index - 1]! + 1)
        found.push(`${rom}: scan ${scan} after ${scans[index - 1] ?? 'none'}`);
    });
    for (const { raw, status, boardMs, scan } of readings)
      if (status !== 'ok' || Math.abs(raw! / 16 - felt(rom, boardMs)) > READ_WITHIN)
        found.push(`${rom}: scan ${scan} is ${status} ${raw! / 16}, not ${felt(rom, boardMs)}`);
  }
  const inLog = opened.pagesOf(id!, 1).flatMap(({ bytes }) => {
    const page = readPage(bytes);
    return page?.kind === 'scans' ? page.scans.map(({ scan }) => scan) : [];
  });
  const held = opened.scansOf(id!, 1);
  for (const scan of inLog) if (held.get(scan) !== roms.length) found.push(`scan ${scan} is in the log only`);
  return found;
}
