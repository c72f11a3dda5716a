import { Refusal } from '../units/refusal.js';

/**
 * Words or options of a command line are missing, too many, or do not go together; the command prints the sentence and
 * exits with 2. A value that will not do is a plain Refusal.
 */
export class WrongCommandLine extends Refusal {}
