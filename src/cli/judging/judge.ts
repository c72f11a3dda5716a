import { readFile } from 'node:fs/promises';
import { orderedRulings } from '../../exposure/orderedRulings.js';
import { told } from '../../exposure/reasons.js';
import { DEFAULT_RULES, parseRules, type RuleSet, rulesToJson } from '../../exposure/ruleSet.js';
import { rulingToJson } from '../../exposure/rulingJson.js';
import { parseSweep, sweepCases, sweepFrom } from '../../exposure/sweep.js';
import type { CupRuling } from '../../exposure/types.js';
import { Refusal } from '../../units/refusal.js';
import { refuseIrregular } from '../../units/regularFile.js';
import { readExposuresCsv } from '../csv/exposuresCsv.js';
import { type ReadingsNotes, takeReadingsCsv } from '../csv/readingsCsv.js';
import type { Io } from '../io.js';
import { textTable } from '../textTable.js';
import { sweepInWords } from './sweepInWords.js';

export interface JudgeOptions {
  /** CSV file of corrected readings. */
  readonly readings: string;
  /** CSV file of exposures, one row a seating. */
  readonly exposures: string;
  /** JSON file of the rule set's changes to the default. */
  readonly rules?: string;
  /** Thresholds to try as well, such as `12..20` or `12..20/1`. */
  readonly thresholdSweep?: string;
  readonly json: boolean;
}

/**
 * The command `judge`: rules on every cup of an exposures file from a readings file.
 *
 * @throws {Refusal} for anything in the files that cannot be used; nothing is printed on `out` then
 */
export async function runJudge(options: JudgeOptions, io: Io): Promise<void> {
  const rules = options.rules === undefined ? DEFAULT_RULES : await readRules(options.rules);
  const exposures = await readExposuresCsv(options.exposures);
  const thresholds = options.thresholdSweep === undefined ? [] : parseSweep(options.thresholdSweep);
  const cases = exposures.map((exposure) => ({ exposure, rules }));
  const swept = sweepCases(exposures, rules, thresholds);
  const { taken, notes } = await takeReadingsCsv(options.readings, () =>
    orderedRulings([...cases, ...swept]),
  );
  const all = taken.rulings();
  const rulings = all.slice(0, exposures.length);
  const sweep =
    options.thresholdSweep === undefined ? null : sweepFrom(rulings, all.slice(exposures.length), thresholds);
  for (const note of notesOn(notes, options.readings)) io.err(note);
  if (options.json)
    io.out(
      JSON.stringify({
        rules: rulesToJson(rules),
        cups: rulings.map(rulingToJson),
        ...(sweep === null ? {} : { sweep }),
      }),
    );
  else
    io.out(
      [rulingsInWords(rulings, rules), ...(sweep === null ? [] : [sweepInWords(sweep, rules)])].join('\n\n'),
    );
}

/** Reads a rule set file. @throws {Refusal} naming the file, the key and the cure */
export async function readRules(path: string): Promise<RuleSet> {
  refuseIrregular(path, 'check the name', 'The rule set ');
  const text = await readFile(path, 'utf8').catch((error: NodeJS.ErrnoException) => {
    throw new Refusal(
      `${path}: the rule set cannot be read (${error.code ?? error.message}); check the name`,
    );
  });
  let json: unknown;
  try {
    json = JSON.parse(text.replace(/^\ufeff/, ''));
  } catch (error) {
    throw new Refusal(`${path}: not JSON (${(error as Error).message}); write an object of keys and values`);
  }
  return parseRules(json, path);
}

function notesOn({ flagged, implausible, absentProbes }: ReadingsNotes, path: string): string[] {
  const notes: string[] = [];
  if (flagged > 0) notes.push(`${path}: flagged and not used: ${flagged}`);
  if (implausible > 0) notes.push(`${path}: outside -20 to 60 °C and not used: ${implausible}`);
  for (const probe of absentProbes) notes.push(`${path}: no reading of probe ${probe}`);
  return notes;
}

const HEADINGS = ['cup', 'ruling', 'exposure', 'observed', 'cold', 'hot', 'min', 'mean', 'max'];

/** The rulings for people: one line a cup, then why each cup that is not valid is not, and what is remarked. */
export function rulingsInWords(rulings: readonly CupRuling[], rules: RuleSet): string {
  const rows = rulings.map((ruling) => [
    ruling.cup,
    ruling.ruling,
    told(ruling.exposureMinutes),
    told(ruling.observedMinutes),
    `${told(ruling.coldMinutes.certain)}-${told(ruling.coldMinutes.possible)}`,
    `${told(ruling.hotMinutes.certain)}-${told(ruling.hotMinutes.possible)}`,
    ...[ruling.minCelsius, ruling.meanCelsius, ruling.maxCelsius].map((degrees) =>
      degrees === null ? 'none' : told(degrees),
    ),
  ]);
  const sentences = rulings.flatMap(({ cup, reasons, remarks }) => [
    ...reasons.map((reason) => `${cup}: ${reason}`),
    ...remarks.map((remark) => `${cup}: remark: ${remark}`),
  ]);
  return [
    `rule set ${rules.name}, version ${rules.version}; durations in minutes (certain-possible), temperatures in °C`,
    '',
    ...textTable([HEADINGS, ...rows]),
    ...(sentences.length === 0 ? [] : ['', ...sentences]),
  ].join('\n');
}
