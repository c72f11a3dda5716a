import {
  levelInWords,
  levelOfEntry,
  percent,
  type SeasonEntry,
  type Verdict,
} from '../../../shared/index.js';
import {
  belowInWords,
  chosenInWords,
  flowRows,
  namesLeftOut,
  operatorName,
  share,
  withoutStripInWords,
} from '../../report/season/seasonPage.js';
import type { SeasonResult } from '../../visit/seasonResult.js';
import { textTable } from '../textTable.js';
import { wrapped } from '../wrapped.js';

/** A verdict under the head that names the line. */
const SIDES: Readonly<Record<Verdict, string>> = {
  'above-line': 'above',
  'below-line': 'below',
  undecided: 'undecided',
  'too-few': 'too few',
};

/** A season for a terminal. */
export function seasonInWords(result: SeasonResult, chosen: string | null, withPeople: boolean): string {
  const { line, level, yards, arms, flow, lost, operators, lots, remarks } = result;
  const ends = (interval: readonly [number, number] | null) =>
    interval === null ? '-' : `${percent(interval[0])} to ${percent(interval[1])}`;
  const leftOut = namesLeftOut(result);
  const against = `the ${percent(line)} line`;
  const lines = [
    ...textTable([
      ['yard', 'arm', 'efficacy', 'range', 'level', 'used', against],
      ...yards.map(({ entry, flow: of }) => [
        entry.yard,
        entry.arm ?? '-',
        share(entry.efficacy),
        entry.interval === null ? '-' : entry.interval.map((end) => (end * 100).toFixed(1)).join(' - '),
        entry.interval === null ? '-' : levelInWords(levelOfEntry(entry, level)),
        `${of.used} of ${of.loaded}`,
        SIDES[entry.verdict],
      ]),
    ]),
    ...arms.flatMap((arm) => ['', ...armLines(arm, line, level, ends)]),
    '',
    wrapped(chosenInWords(chosen)),
    '',
    wrapped(
      `strip cups: ${flowRows(flow)
        .filter(([name, count]) => count !== 0 || name === 'used')
        .map(([name, count]) => `${name} ${count}`)
        .join(', ')}`,
    ),
    ...lost.map(
      ({ why, cups, minCelsius, medianMeanCelsius }) =>
        `  ${why}: ${cups}${minCelsius === null ? '' : `, lowest reading ${minCelsius.toFixed(1)} °C, middle one of their means ${medianMeanCelsius?.toFixed(1) ?? '-'} °C`}`,
    ),
    ...operators.map(
      (each, index) =>
        `loaded by ${operatorName(each, index + 1, withPeople)}: ${each.loaded} strip ${each.loaded === 1 ? 'cup' : 'cups'}, ${each.lost} lost, ${each.unread} not read`,
    ),
    ...(leftOut === null ? [] : [wrapped(leftOut)]),
    ...lots.map(
      ({ lot, yards: of, yardsBelow, yardsDecidedBelow, loaded, lost: gone }) =>
        `lot ${lot}: ${of} ${of === 1 ? 'yard' : 'yards'}, ${yardsBelow} with an estimate below the line, ${yardsDecidedBelow} with a verdict below it; ${loaded} loaded, ${gone} lost`,
    ),
    ...lots.flatMap(({ suspicion }) => (suspicion === null ? [] : [wrapped(`  ${suspicion}`)])),
    wrapped(`cups without strip: ${withoutStripInWords(result)}`),
    ...remarks.map((each) => wrapped(each)),
  ];
  return lines.join('\n');
}

function armLines(
  arm: SeasonEntry,
  line: number,
  level: number,
  ends: (interval: readonly [number, number] | null) => string,
): string[] {
  const below = arm.shareOfYardsBelowLine;
  return [
    `${arm.arm ?? 'all strips'}: ${arm.yards} ${arm.yards === 1 ? 'yard' : 'yards'} taken together, ranges of ${levelInWords(level)}`,
    wrapped(
      `  middle yard ${share(arm.efficacyOfMiddleYard)} (${ends(arm.intervalOfMiddleYard)}); one further yard ${ends(arm.predictionForNextYard)}`,
    ),
    wrapped(
      `  spread between yards (tau) ${arm.sdBetweenYards?.toFixed(2) ?? '-'}; share of yards below the ${percent(line)} line ${below === null ? '-' : belowInWords(below)}`,
    ),
    ...arm.leftOut.map(({ yard, why }) => `  left out: ${yard}, because ${why}`),
    ...arm.remarks.map((each) => wrapped(`  ${each}`)),
  ];
}
