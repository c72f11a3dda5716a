import type { CupFlow, Interval, SeasonEntry } from '../../../shared/index.js';
import { csvLine } from '../../bundle/column.js';
import { chosenInWords, operatorName } from '../../report/season/seasonPage.js';
import { neutralised } from '../../units/formula.js';
import type { SeasonResult } from '../../visit/seasonResult.js';

/** One figure of a season, or one sentence; what is not known is left empty, never 0. */
interface Figure {
  readonly about: 'season' | 'arm' | 'flow' | 'lost' | 'loaded-by' | 'lot' | 'without-strip';
  /** Which arm, lot, reason or person. */
  readonly name?: string | null;
  readonly figure: string;
  readonly value?: number | null;
  readonly limits?: Interval | null;
  /** Of the limits. */
  readonly level?: number;
  readonly words?: string | null;
}

const COLUMNS = ['about', 'name', 'figure', 'value', 'low', 'high', 'level', 'words'] as const;

/**
 * What a season says beyond its yards, as CSV (RFC 4180), a figure a row: arms, flow, losses, who loaded, lots, cups without
 * strip. Shares from 0 to 1, Celsius.
 */
export function seasonFigures(result: SeasonResult, chosen: string | null, withPeople: boolean): string {
  const figures: Figure[] = [
    { about: 'season', figure: 'line', value: result.line },
    { about: 'season', figure: 'how_yards_were_chosen', words: chosenInWords(chosen) },
    ...result.remarks.map((words): Figure => ({ about: 'season', figure: 'remark', words })),
    ...result.arms.flatMap(ofArm),
    ...ofFlow(result.flow),
    ...result.lost.flatMap(({ why, cups, minCelsius, medianMeanCelsius, maxCelsius }) =>
      each({ about: 'lost', name: why }, { cups, minCelsius, medianMeanCelsius, maxCelsius }),
    ),
    ...result.operators.flatMap((operator, index) =>
      each(
        { about: 'loaded-by', name: operatorName(operator, index + 1, withPeople) },
        { loaded: operator.loaded, lost: operator.lost, unread: operator.unread },
      ),
    ),
    ...result.lots.flatMap(
      ({ active, lot, yards, yardsBelow, yardsDecidedBelow, loaded, lost, suspicion }): Figure[] => {
        const of = { about: 'lot', name: active === null ? lot : `${lot} (${active})` } as const;
        return [
          ...each(of, {
            yards,
            yardsWithEstimateBelowLine: yardsBelow,
            yardsWithVerdictBelowLine: yardsDecidedBelow,
            loaded,
            lost,
          }),
          ...(suspicion === null ? [] : [{ ...of, figure: 'suspicion', words: suspicion }]),
        ];
      },
    ),
    ...withoutStrip(result),
  ];
  return [csvLine(COLUMNS), ...figures.map(line)].join('');
}

function ofArm(arm: SeasonEntry): Figure[] {
  const { level, shareOfYardsBelowLine: below, misleadingCounts: counts } = arm;
  const of = { about: 'arm', name: arm.arm, level } as const;
  const counted = { about: 'arm', name: arm.arm } as const;
  return [
    { ...counted, figure: 'yards', value: arm.yards },
    {
      ...of,
      figure: 'efficacy_of_middle_yard',
      value: arm.efficacyOfMiddleYard,
      limits: arm.intervalOfMiddleYard,
    },
    { ...of, figure: 'prediction_for_next_yard', limits: arm.predictionForNextYard },
    {
      ...of,
      figure: 'sd_between_yards_on_logit_scale',
      value: arm.sdBetweenYards,
      limits: arm.sdBetweenYardsInterval,
    },
    { ...counted, figure: 'cochran_q', value: arm.cochranQ },
    {
      ...of,
      figure: 'share_of_yards_below_line',
      value: below?.estimate ?? null,
      limits: below?.interval ?? null,
    },
    {
      ...counted,
      figure: 'yards_with_verdict_below_line',
      value: counts.yardsWithVerdictBelowLine,
    },
    {
      ...counted,
      figure: 'yards_with_estimate_below_line',
      value: counts.yardsWithEstimateBelowLine,
    },
    {
      ...of,
      figure: 'share_of_estimates_below_line',
      value: arm.yards === 0 ? null : counts.yardsWithEstimateBelowLine / counts.ofYards,
      limits: counts.estimatesBelowLineInterval,
    },
    ...arm.leftOut.map(
      ({ yard, why }): Figure => ({ ...counted, figure: 'left_out', words: `${yard}: ${why}` }),
    ),
    ...arm.remarks.map((words): Figure => ({ ...counted, figure: 'remark', words })),
  ];
}

const ofFlow = ({ ruledOut, planned, loaded, replaced, unread, miteFree, used }: CupFlow): Figure[] =>
  each(
    { about: 'flow', name: 'strip cups' },
    { planned, loaded, replaced, ...ruledOut, unread, miteFree, used },
  );

function withoutStrip({ withoutStrip: found, level }: SeasonResult): Figure[] {
  const of = { about: 'without-strip' } as const;
  if (found === null) return [{ ...of, figure: 'cups', value: 0 }];
  const { cups, yards, tray, mites, fall, interval } = found;
  return [
    ...each(of, { cups, yards, tray, mites }),
    { ...of, figure: 'share_that_fell', value: fall, limits: interval, level },
  ];
}

/** A row a figure, named as in the JSON but with low lines, as columns of CSV are. */
const each = (
  of: Pick<Figure, 'about' | 'name'>,
  values: Readonly<Record<string, number | null>>,
): Figure[] =>
  Object.entries(values).map(([key, value]) => ({
    ...of,
    figure: key.replaceAll(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`),
    value,
  }));

const text = (words: string | null | undefined): string => (words == null ? '' : neutralised(words));
const number = (value: number | null | undefined): string => (value == null ? '' : String(value));

function line({ about, name, figure, value, limits, level, words }: Figure): string {
  const isKnown = limits !== null && limits !== undefined;
  return csvLine([
    about,
    text(name),
    figure,
    number(value),
    number(limits?.[0]),
    number(limits?.[1]),
    isKnown ? number(level) : '',
    text(words),
  ]);
}
