import {
  type ArmDifference,
  type EfficacyOptions,
  type EfficacyReport,
  efficacyReport,
  type Interval,
  LOOKS_MAX,
  percent,
  type Recovery,
  verdictInWords,
  type YardEntry,
} from '../../../shared/index.js';
import { Refusal } from '../../units/refusal.js';
import { readCounts } from '../csv/countsCsv.js';
import type { Io } from '../io.js';

export interface EfficacyCommand {
  /** The file of counts. */
  readonly counts: string;
  /** The efficacy a product must reach, between 0 and 1; 0.7 when not given. */
  readonly line?: number | undefined;
  /** `0.95`, a share, or `637/47`, the mites found in a first and in a second wash. */
  readonly recovery?: string | number | undefined;
  /** How often the results are looked at in all; 1 when not given. */
  readonly looks?: number | undefined;
  readonly json: boolean;
}

const LINE_DEFAULT = 0.7;

/**
 * The command `efficacy`: efficacy and infestation of every yard and arm in a file of counts, as JSON or in
 * words. Throws a Refusal, having printed nothing, when the file or an option cannot be used.
 */
export async function runEfficacy(command: EfficacyCommand, io: Io): Promise<void> {
  const line = command.line ?? LINE_DEFAULT;
  if (!(line > 0 && line < 1))
    throw new Refusal(`--line is ${line}; give a share between 0 and 1, as 0.7 for 70 %`);
  const recovery = command.recovery === undefined ? undefined : parseRecovery(String(command.recovery));
  const looks = command.looks ?? 1;
  if (!(Number.isInteger(looks) && looks >= 1 && looks <= LOOKS_MAX))
    throw new Refusal(`--looks is ${looks}; give a whole number from 1 to ${LOOKS_MAX}`);
  const options: EfficacyOptions = { line, recovery, looks };
  const report = efficacyReport(await readCounts(command.counts), options);
  io.out(command.json ? `${JSON.stringify(report)}\n` : efficacyInWords(report, line));
}

const SHARE = /^(?:\d*\.\d+|\d+)$/;
const WASHES = /^(\d{1,9})\/(\d{1,9})$/;

/** Reads what `--recovery` takes; a Refusal for anything else. */
export function parseRecovery(text: string): Recovery {
  const washes = WASHES.exec(text);
  if (washes !== null && Number(washes[1]) > 0)
    return { first: Number(washes[1]), second: Number(washes[2]) };
  const q = SHARE.test(text) ? Number(text) : 0;
  if (q > 0 && q <= 1) return { q };
  throw new Refusal(
    `--recovery is ${JSON.stringify(text)}; give the share of survivors the wash finds, above 0 and at most 1, as 0.95, or the mites of a first and a second wash, as 637/47`,
  );
}

const BIASES =
  'Raw: not corrected for survivors that the wash missed, nor for mites that would have fallen without a strip. Both make the product look better than it is.';

/** A report for people: some lines for each yard and arm, then what was not corrected. Ends with a line end. */
export function efficacyInWords(report: EfficacyReport, line: number): string {
  if (report.yards.length === 0) return 'No cups in this file.\n';
  const yards = report.yards.map((entry) => yardInWords(entry, line, report.level));
  const arms = (report.armDifferences ?? []).map((pair) => armsInWords(pair, report));
  return `${[...yards, ...arms, BIASES].join('\n\n')}\n`;
}

function yardInWords(entry: YardEntry, line: number, reportLevel: number): string {
  const title = entry.arm === null ? `Yard ${entry.yard}` : `Yard ${entry.yard}, arm ${entry.arm}`;
  const level = entry.looks?.level ?? reportLevel;
  const lines = [
    `pooled raw efficacy ${shareInWords(entry.efficacy, entry.interval, level)}: ${verdictInWords(entry.verdict, line)}`,
    `from ${entry.tray} mites on trays and ${entry.wash} washed off; ${furtherCups(entry)}`,
    ...meanOfCupsInWords(entry),
    cupsInWords(entry),
    ...withRuledOut(entry, line, level),
    infestationInWords(entry),
    ...correctionsInWords(entry, level),
    ...entry.remarks.map((remark) => `remark: ${remark}`),
  ];
  return [title, ...lines.map((text) => `  ${text}`)].join('\n');
}

function meanOfCupsInWords({ meanOfCups }: YardEntry): string[] {
  if (meanOfCups === null) return [];
  return [`mean of cups, raw, ${percentTenths(meanOfCups)}, for comparison`];
}

function armsInWords(pair: ArmDifference, { level: reportLevel, yards }: EfficacyReport): string {
  const level = yards.find(({ yard }) => yard === pair.yard)?.looks?.level ?? reportLevel;
  const [first, second] = pair.arms.map((arm) => arm ?? 'no arm named');
  return [
    `Yard ${pair.yard}, arm ${first} less arm ${second}, within the colonies that have cups in both`,
    `  ${differenceInWords(pair, level)}`,
    ...pair.remarks.map((remark) => `  remark: ${remark}`),
  ].join('\n');
}

function differenceInWords(
  { difference, interval, pairedEfficacies, pairedColonies }: ArmDifference,
  level: number,
) {
  if (difference === null || interval === null || pairedEfficacies === null)
    return 'difference of pooled raw efficacies not known';
  const [low, high] = interval.map(pointsTenths);
  const [first, second] = pairedEfficacies.map(percentTenths);
  return `difference of pooled raw efficacies ${pointsTenths(difference)} points (${percent(level)} interval ${low} to ${high}), ${first} less ${second} in ${pairedColonies} colonies`;
}

const pointsTenths = (difference: number): string => (difference * 100).toFixed(1);

function shareInWords(share: number | null, interval: Interval | null, level: number): string {
  if (share === null) return 'not known';
  if (interval === null) return `${percentTenths(share)} (no interval)`;
  return `${percentTenths(share)} (${percent(level)} interval ${percentTenths(interval[0])} to ${percentTenths(interval[1])})`;
}

const percentTenths = (share: number): string => `${(share * 100).toFixed(1)} %`;

function furtherCups({ interval, moreCups }: YardEntry): string {
  if (interval === null) return 'too little to say how many further cups would decide';
  if (moreCups === 0) return 'no further cups needed for this verdict';
  if (moreCups === null) return 'no number of further cups up to 100 promises a decision';
  return `${moreCups} more ${moreCups === 1 ? 'cup' : 'cups'} would decide with a chance of 80 %`;
}

function cupsInWords({ cups }: YardEntry): string {
  const used = cups.valid - cups.unread - cups.empty;
  return `cups with a strip: ${used} used, ${cups.excluded} ruled out, ${cups.unread} not read, ${cups.empty} without mites`;
}

function withRuledOut({ cups, allCups }: YardEntry, line: number, level: number): string[] {
  if (cups.excluded === 0) return [];
  const estimate = shareInWords(allCups.efficacy, allCups.interval, level);
  return [
    `with every read cup that was not spoiled: pooled raw efficacy ${estimate}: ${verdictInWords(allCups.verdict, line)}`,
  ];
}

function infestationInWords({ infestation: { per100, interval } }: YardEntry): string {
  if (per100 === null) return 'infestation not known: no bees counted';
  const limits = interval === null ? 'no interval' : `${interval[0].toFixed(1)} to ${interval[1].toFixed(1)}`;
  return `infestation ${per100.toFixed(1)} mites per 100 bees (${limits})`;
}

function correctionsInWords({ control, recovery }: YardEntry, level: number): string[] {
  const lines: string[] = [];
  if (control !== null) {
    const cups = `${control.cups} ${control.cups === 1 ? 'cup' : 'cups'} without strip`;
    const fall =
      control.fall === null
        ? 'no mites'
        : `${control.tray} of ${control.tray + control.wash} mites fell, ${shareInWords(control.fall, control.fallInterval, level)}`;
    lines.push(
      `corrected for natural fall alone, every mite taken as independent: ${shareInWords(control.efficacyCorrected, control.interval, level)}; from ${cups}, ${fall}`,
    );
  }
  if (recovery !== undefined) {
    const found =
      recovery.qInterval === null
        ? `${percentTenths(recovery.q)}, taken as known`
        : shareInWords(recovery.q, recovery.qInterval, level);
    lines.push(
      `corrected for missed survivors alone: ${shareInWords(recovery.efficacyCorrected, recovery.interval, level)}; from a wash finding ${found}`,
    );
  }
  return lines;
}
