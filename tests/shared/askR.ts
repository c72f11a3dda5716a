import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { whyNot } from '../tools/debianPrograms.js';

const SCRIPT = fileURLToPath(new URL('../reference/assay-live.R', import.meta.url));

/** Why R cannot be asked here, or null when it can. */
export const WHY_NO_R = whyNot('Rscript', '/usr/lib/R/site-library/metafor');

/** Asks tests/reference/assay-live.R all questions in one run: one list of numbers each, null where R has none. */
export function askR(questions: readonly string[]): (number | null)[][] {
  const { status, stdout, stderr } = spawnSync('Rscript', ['--vanilla', SCRIPT], {
    input: `${questions.join('\n')}\n`,
    encoding: 'utf8',
  });
  if (status !== 0) throw new Error(`Rscript failed: ${stderr}`);
  const answers = stdout.trim().split('\n');
  if (answers.length !== questions.length) throw new Error(`R gave ${answers.length} answers: ${stderr}`);
  return answers.map((line) =>
    line
      .trim()
      .split(/\s+/)
      .map((word) => (word === 'NA' ? null : Number(word))),
  );
}
