import { type SeasonFigures, seasonFigures } from './seasons.js';
import {
  coverage,
  falseDecisions,
  type MitesInCups,
  pairedCoverage,
  SHARINGS,
  type Sharing,
} from './yards.js';

/** The tables of docs/statistics.md, drawn anew from fixed seeds. */

const SEED = 3;
export const EFFICACIES = [0.5, 0.6, 0.7, 0.8, 0.9, 0.95] as const;
export const RHOS = [0, 0.05, 0.1, 0.2] as const;
export const LOOKS = [1, 2, 3, 5] as const;
export const COLONIES = [3, 6, 10] as const;

/** What a table shows, by row and column. */
type Grid<Cell> = readonly (readonly Cell[])[];

export const coverageGrid = (mites: MitesInCups): Grid<{ clustered: number; naive: number }> =>
  EFFICACIES.map((efficacy) =>
    RHOS.map((rho) => coverage({ efficacy, rho, mites, cups: 10, runs: 4000, seed: SEED })),
  );

const SHARING_NAMES = Object.keys(SHARINGS) as Sharing[];

export const looksGrid = (): Grid<{ clustered: number; naive: number }> =>
  SHARING_NAMES.map((sharing) =>
    LOOKS.map((looks) => {
      const wrong = (limits: 'clustered' | 'naive'): number =>
        falseDecisions({ looks, rho: 0.1, sharing, limits, runs: 2000, seed: SEED });
      return { clustered: wrong('clustered'), naive: wrong('naive') };
    }),
  );

const PAIRS = [
  [0.8, 0.5],
  [0.7, 0.7],
  [0.95, 0.9],
] as const;

export const pairedGrid = (): Grid<number> =>
  PAIRS.map((efficacies) =>
    COLONIES.map((colonies) => pairedCoverage({ efficacies, rho: 0.1, colonies, runs: 2000, seed: SEED })),
  );

export const SEASONS = [
  { yards: 4, efficacyOfMiddleYard: 0.7, sdBetweenYards: 0.7 },
  { yards: 8, efficacyOfMiddleYard: 0.8, sdBetweenYards: 0.4 },
] as const;

export const seasonList = (): readonly SeasonFigures[] =>
  SEASONS.map((season) => seasonFigures({ ...season, runs: 400, seed: SEED }));

/** A share as .953. */
const three = (share: number): string => share.toFixed(3).replace(/^0/, '');

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

export const coverageTable = (grid: ReturnType<typeof coverageGrid>): string =>
  table(
    ['true efficacy', ...RHOS.map((rho) => `rho ${rho}`)],
    grid.map((row, i) => [
      `${EFFICACIES[i]}`,
      ...row.map(({ clustered, naive }) => `${three(clustered)} (${three(naive)})`),
    ]),
  );

const SHARING_WORDS: Record<Sharing, string> = {
  none: 'each look at 95 %',
  planned: 'the looks, known from the first on, share the 5 %',
  'so far': 'each look knows only those before it',
};

export const looksTable = (grid: ReturnType<typeof looksGrid>): string =>
  table(
    ['', ...LOOKS.map((looks) => (looks === 1 ? '1 look' : `${looks} looks`))],
    grid.map((row, i) => [
      SHARING_WORDS[SHARING_NAMES[i] ?? 'none'],
      ...row.map(({ clustered, naive }) => `${three(clustered)} (${three(naive)})`),
    ]),
  );

export const pairedTable = (grid: ReturnType<typeof pairedGrid>): string =>
  table(
    ['true efficacies', ...COLONIES.map((colonies) => `${colonies} colonies`)],
    grid.map((row, i) => [(PAIRS[i] ?? []).join(' and '), ...row.map(three)]),
  );

export const seasonTable = (list: ReturnType<typeof seasonList>): string =>
  table(
    ['', ...SEASONS.map(({ yards, sdBetweenYards: sd }) => `${yards} yards, sd ${sd}`)],
    (
      [
        ['interval of the middle yard holds it', 'middle'],
        ['prediction holds the next yard', 'nextYard'],
        ['interval of the share below the line holds it', 'share'],
        ['true share of yards below the line', 'trueShare'],
        ['share from the fitted distribution, on average', 'meanEstimate'],
        ['share of verdicts below the line, on average', 'meanCountOfVerdicts'],
        ['share of estimates below the line, on average', 'meanCountOfEstimates'],
      ] as const
    ).map(([words, key]) => [words, ...list.map((figures) => three(figures[key]))]),
  );
