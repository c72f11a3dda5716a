import type { Say } from '../../logger/say.js';
import type { Io } from '../io.js';

export const LOG_FORMATS = ['text', 'json'] as const;
export type LogFormat = (typeof LOG_FORMATS)[number];

/** Sentences for people, which need no level. */
export const plainly =
  (io: Io): Say =>
  (sentence, source) =>
    io.err(source === undefined || sentence.startsWith(source) ? sentence : `${source}: ${sentence}`);

/** What a logger says: sentences for people, or one JSON object a line for programs that collect logs. */
export async function sayIn(format: LogFormat, io: Io): Promise<Say> {
  if (format === 'text') return plainly(io);
  const { pino } = await import('pino');
  const log = pino(
    {
      base: { program: 'stillwarm' },
      timestamp: pino.stdTimeFunctions.isoTime,
      formatters: { level: (label) => ({ level: label }) },
    },
    { write: (line) => io.err(line.trimEnd()) },
  );
  return (sentence, source, level = 'info') => log[level](source === undefined ? {} : { source }, sentence);
}
