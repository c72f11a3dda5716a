import { levelInWords } from './looks.js';
import type { CupCount, CupTally, YardEntry } from './types.js';
import { percent, sideOf, verdictInWords } from './verdict.js';

const number = (count: number, one: string, many: string): string => `${count} ${count === 1 ? one : many}`;

/** What a cup's row needs to be read with. */
export function cupRemarks(cup: CupCount): string[] {
  const missing = (['tray', 'wash'] as const).filter((field) => cup[field] === null);
  const remarks: string[] = [];
  if (cup.ruling !== 'valid') remarks.push(`ruled out: ${cup.ruling}`);
  if (cup.cool) remarks.push('cool on average');
  if (missing.length > 0) remarks.push(`not read: no ${missing.join(' and no ')} count`);
  else if (cup.tray === 0 && cup.wash === 0) remarks.push('no mites: it says nothing about efficacy');
  if (cup.bees === null) remarks.push('bees not counted: it says nothing about infestation');
  else if (cup.bees === 0) remarks.push('no bees: it says nothing about infestation');
  return remarks;
}

/** What the remarks of an entry rest on beside its figures. */
export interface EntryFacts {
  readonly figures: Omit<YardEntry, 'remarks'>;
  readonly line: number;
  /** Clusters with mites. */
  readonly clusters: number;
  /** Valid strip cups with mites, and those among them that were cool. */
  readonly cupsWithMites: number;
  readonly coolCups: number;
  /** Bees in the cups that count for infestation, and the upper limit of mites per 100 of them if none had any. */
  readonly upperPer100WithoutMites: number | null;
}

/** What an entry's figures need to be read with, the most important first. */
export function entryRemarks(facts: EntryFacts): string[] {
  return [
    ...aboutLooks(facts.figures),
    ...aboutEvidence(facts),
    ...aboutOtherEstimates(facts),
    ...aboutControl(facts.figures),
    ...aboutInfestation(facts),
  ];
}

function aboutLooks({ looks }: Omit<YardEntry, 'remarks'>): string[] {
  if (looks === undefined) return [];
  return [
    `one of ${looks.count} looks at this yard, which share what the interval may miss: each interval of the efficacy has a level of ${levelInWords(looks.level)}`,
  ];
}

function aboutEvidence({ figures, clusters, cupsWithMites, coolCups }: EntryFacts): string[] {
  const remarks: string[] = [];
  const { efficacy, verdict } = figures;
  if (clusters === 0) remarks.push(nothingToSay(figures.cups));
  if (clusters === 1)
    remarks.push('all mites come from one colony: the spread between colonies is unknown, so no interval');
  if (clusters > 1 && (efficacy === 0 || efficacy === 1))
    remarks.push(
      `${efficacy === 1 ? 'every mite fell' : 'no mite fell'}: the spread between cups cannot be seen, and the interval takes the mites as independent`,
    );
  if (figures.cups.unread > 0)
    remarks.push(`${number(figures.cups.unread, 'valid cup is', 'valid cups are')} not read`);
  if (coolCups > 0)
    remarks.push(
      `${verdict === 'too-few' ? 'the figures rest' : 'the verdict rests'} on cool cups: ${coolCups} of ${cupsWithMites}`,
    );
  return remarks;
}

function nothingToSay(cups: CupTally): string {
  if (cups.valid + cups.excluded === 0) return 'no cup with a strip';
  if (cups.valid === 0) return 'every cup with a strip was ruled out';
  return 'no valid cup with a strip was read and held mites';
}

function aboutOtherEstimates({ figures, line }: EntryFacts): string[] {
  const { efficacy, interval, meanOfCups, naiveInterval, byGroup, allCups, verdict } = figures;
  const remarks: string[] = [];
  if (efficacy !== null && meanOfCups !== null && meanOfCups >= line !== efficacy >= line)
    remarks.push(
      `the mean of cups, ${percent(meanOfCups)}, lies on the other side of the ${percent(line)} line than the pooled efficacy, ${percent(efficacy)}`,
    );
  if (interval !== null && naiveInterval !== null) {
    const naive = sideOf(naiveInterval, line);
    if (naive !== sideOf(interval, line))
      remarks.push(
        `with every mite taken as independent the result would be ${verdictInWords(naive, line)}; the spread between cups does not support that`,
      );
  }
  if (byGroup !== null && (verdict === 'above-line' || verdict === 'below-line')) {
    const byLine = byGroup.interval === null ? null : sideOf(byGroup.interval, line);
    if (byLine === null) remarks.push('all mites come from one mother line');
    else if (byLine !== verdict)
      remarks.push(`with mother lines as clusters the result would be ${verdictInWords(byLine, line)}`);
  }
  if (allCups.verdict !== verdict)
    remarks.push(
      `with the cups that were ruled out the result would be ${verdictInWords(allCups.verdict, line)}`,
    );
  return remarks;
}

function aboutControl({ control, efficacy }: Omit<YardEntry, 'remarks'>): string[] {
  if (control === null || efficacy === null) return [];
  if (control.fall === null) return ['no mites in the cups without strip: natural fall is unknown'];
  if (control.efficacyCorrected === null)
    return ['no mite survived without a strip: the efficacy cannot be corrected for natural fall'];
  if (control.efficacyCorrected < 0) return ['more mites fell without a strip than with it'];
  if (control.interval === null)
    return ['no mite survived with a strip: the efficacy corrected for natural fall has no interval'];
  return [];
}

function aboutInfestation({ figures, upperPer100WithoutMites }: EntryFacts): string[] {
  if (figures.infestation.per100 !== 0 || upperPer100WithoutMites === null) return [];
  return [
    `no mites on any bee counted: the infestation may still be up to ${upperPer100WithoutMites.toFixed(2)} per 100 bees`,
  ];
}
