export { fitBetaBinomial } from './betaBinomial.js';
export {
  type ClusteredEfficacy,
  type ClusteredRatio,
  clusteredEfficacy,
  clusteredRatio,
  type Share,
} from './clusters.js';
export { abbott, type Corrected, type Counts, correctForRecovery, recoveryShare } from './corrections.js';
export { clusteredInfestation, colonyInfestation, poissonLimits } from './infestation.js';
export { COUNT_MAX, CountError, checkCups } from './input.js';
export { DECISION_CHANCE, decisionChance, MORE_CUPS_MAX } from './moreCups.js';
export { clopperPearson, jeffreys, wilson, wilsonCounts } from './proportion.js';
export { efficacyReport } from './report.js';
export * from './types.js';
export { percent, sideOf, verdictInWords } from './verdict.js';
