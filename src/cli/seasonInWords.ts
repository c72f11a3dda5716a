import { percent, type SeasonEntry, verdictInWords } from '../../shared/index.js';
import {
  chosenInWords,
  flowRows,
  operatorName,
  share,
  withoutStripInWords,
} from '../report/season/seasonPage.js';
import type { SeasonResult } from '../visit/seasonResult.js';
import { textTable } from './textTable.js';
import { wrapped } from './wrapped.js';

/** A season for a terminal. */
export function seasonInWords(result: SeasonResult, chosen: string | null, withPeople: boolean): string {
  const { line, yards, arms, flow, lost, operators, lots, remarks } = result;
  const ends = (interval: readonly [number, number] | null) =>
    interval === null ? '-' : `${percent(interval[0])} to ${percent(interval[1])}`;
  const lines = [
    ...textTable([
      ['yard', 'arm', 'efficacy', 'range', 'used/loaded', 'verdict'],
      ...yards.map(({ entry, flow: of }) => [
        entry.yard,
        entry.arm ?? '-',
        share(entry.efficacy),
        ends(entry.interval),
        `${of.used}/${of.loaded}`,
        verdictInWords(entry.verdict, line),
      ]),
    ]),
    ...arms.flatMap((arm) => ['', ...armLines(arm, line, ends)]),
    '',
    wrapped(chosenInWords(chosen)),
    '',
    `strip cups: ${flowRows(flow)
      .filter(([name, count]) => count !== 0 || name === 'used')
      .map(([name, count]) => `${name} ${count}`)
      .join(', ')}`,
    ...lost.map(
      ({ why, cups, minCelsius, medianMeanCelsius }) =>
        `  ${why}: ${cups}${minCelsius === null ? '' : `, lowest reading ${minCelsius.toFixed(1)} °C, middle of means ${medianMeanCelsius?.toFixed(1) ?? '-'} °C`}`,
    ),
    ...operators.map(
      ({ name, loaded, lost: gone, unread }, index) =>
        `loaded by ${operatorName(name, index + 1, withPeople)}: ${loaded} strip cups, ${gone} lost, ${unread} not read`,
    ),
    ...lots.map(
      ({ lot, yards: of, yardsBelow, loaded, lost: gone }) =>
        `lot ${lot}: ${of} yards, ${yardsBelow} with an estimate below the line; ${loaded} loaded, ${gone} lost`,
    ),
    ...lots.flatMap(({ suspicion }) => (suspicion === null ? [] : [wrapped(`  ${suspicion}`)])),
    `cups without strip: ${withoutStripInWords(result)}`,
    ...remarks.map((each) => wrapped(each)),
  ];
  return lines.join('\n');
}

function armLines(
  arm: SeasonEntry,
  line: number,
  ends: (interval: readonly [number, number] | null) => string,
): string[] {
  const below = arm.shareOfYardsBelowLine;
  return [
    `${arm.arm ?? 'all strips'}: ${arm.yards} ${arm.yards === 1 ? 'yard' : 'yards'} taken together`,
    `  middle yard ${share(arm.efficacyOfMiddleYard)} (${ends(arm.intervalOfMiddleYard)}); one further yard ${ends(arm.predictionForNextYard)}`,
    `  spread between yards (tau) ${arm.sdBetweenYards?.toFixed(2) ?? '-'}; share of yards below the ${percent(line)} line ${below === null ? '-' : `${percent(below.estimate)} (${ends(below.interval)})`}`,
    ...arm.leftOut.map(({ yard, why }) => `  left out: ${yard}, because ${why}`),
    ...arm.remarks.map((each) => wrapped(`  ${each}`)),
  ];
}
