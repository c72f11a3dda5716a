import { CAUTIONS } from '../visit/cautions.js';
import { wrapped } from './wrapped.js';

/** A caution as a command prints it. */
export const cautionAt = (step: keyof typeof CAUTIONS): string => wrapped(CAUTIONS[step]);
