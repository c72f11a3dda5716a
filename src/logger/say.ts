/** How much a sentence matters to whoever watches a log: `warn` may cost readings, `error` needs a person. */
export type Level = 'info' | 'warn' | 'error';

/** Says a sentence for people, perhaps of one source. */
export type Say = (sentence: string, source?: string, level?: Level) => void;
