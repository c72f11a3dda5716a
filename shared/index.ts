export { type ArmDifference, armDifferences } from './arms.js';
export { fitBetaBinomial } from './betaBinomial.js';
export {
  type BetweenYards,
  betweenYards,
  fromLogit,
  type LogitYard,
  logit,
  logitYard,
} from './betweenYards.js';
export {
  type ClusteredEfficacy,
  type ClusteredRatio,
  clusteredEfficacy,
  clusteredRatio,
  type Share,
} from './clusters.js';
export { abbott, type Corrected, type Counts, correctForRecovery, recoveryShare } from './corrections.js';
export { type CupFlow, cupFlow, type FlowCup } from './cupFlow.js';
export { clusteredInfestation, colonyInfestation, poissonLimits } from './infestation.js';
export { COUNT_MAX, CountError, checkCups } from './input.js';
export { LOOKS_MAX, type Looks, levelInWords, levelOfEntry, levelOfLook } from './looks.js';
export { DECISION_CHANCE, decisionChance, MORE_CUPS_MAX } from './moreCups.js';
export { clopperPearson, jeffreys, wilson, wilsonCounts } from './proportion.js';
export { tReachOf } from './quantiles.js';
export { efficacyReport } from './report.js';
export {
  type LeftOut,
  type MisleadingCounts,
  type SeasonEntry,
  type SeasonYard,
  seasonReport,
} from './season.js';
export { type ShareBelow, shareBelow } from './shareBelow.js';
export * from './types.js';
export { type Bar, decide, percent, sideOf, verdictInWords } from './verdict.js';
