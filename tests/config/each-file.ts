import fc from 'fast-check';

/** Properties draw the same cases in every run; `PROPERTY_SEED=N npm test` draws others. */
const SEED = 20_260_512;

fc.configureGlobal({ seed: Number(process.env['PROPERTY_SEED'] ?? SEED) });
