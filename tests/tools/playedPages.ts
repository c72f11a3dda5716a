import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pagePictures } from './pagePictures.js';

/** Built beside this. */
const PROGRAM = fileURLToPath(new URL('../../src/cli/stillwarm.js', import.meta.url));
const SCENARIOS = ['cold-morning', 'warm-day'] as const;

/** What is printed the evening before: sheets and labels of two yards. */
const PLANNED: readonly (readonly string[])[] = [
  [
    ...['plan', 'day', '--yard', 'alder-07', '--yard', 'sedge-12', '--drive', '25', '--out', 'planned.csv'],
    ...['--carrier', 'A=10', '--carrier', 'B=10', '--active', 'amitraz strip', '--lot', 'L7'],
  ],
  ['plan', 'sheet', 'planned.csv', '--out', 'field-sheets.html'],
  ['plan', 'labels', 'planned.csv', '--out', 'labels-a4.html'],
  ['plan', 'labels', 'planned.csv', '--paper', 'letter', '--code', 'code128', '--out', 'labels-letter.html'],
];

function stillwarm(...args: string[]): string {
  const { status, stdout, stderr } = spawnSync(process.execPath, [PROGRAM, ...args], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`stillwarm ${args.join(' ')} failed: ${stderr.trim()}`);
  return stdout;
}

const say = (text: string): boolean => process.stdout.write(`${text}\n`);

/**
 * Plays both scenarios on emulated carriers, makes every page of that season and a picture of each, as it is on screens and
 * in print: `npm run pictures -- FOLDER`. Takes some minutes.
 */
function main(folder: string | undefined): void {
  if (folder === undefined) throw new Error('Name the folder for the pictures: npm run pictures -- FOLDER');
  mkdirSync(folder, { recursive: true });
  if (readdirSync(folder).length > 0)
    throw new Error(`${folder} is not empty, and nothing in it is written over; name a new folder.`);
  const at = (name: string) => join(folder, name);
  const visitsIn = (store: string): string[] =>
    JSON.parse(stillwarm('visit', 'list', '--store', store, '--json')).visits.map(
      ({ visit }: { visit: string }) => visit,
    );
  const played = SCENARIOS.map((scenario) => {
    say(`playing ${scenario}`);
    const [store, bundle] = [at(`${scenario}.sqlite`), at(scenario)];
    stillwarm('play', '--scenario', scenario, '--speed', 'max', '--json', '--store', store);
    const visits = visitsIn(store);
    stillwarm('bundle', 'write', '--store', store, '--visit', ...visits, '--out', bundle);
    return { scenario, store, bundle, visits };
  });
  stillwarm('season', ...played.map(({ bundle }) => bundle), '--out', at('season.html'));
  for (const { scenario, store, visits } of played) {
    for (const language of ['en', 'es'])
      stillwarm(
        ...['report', 'beekeeper', '--store', store, '--language', language, '--visit', ...visits],
        ...['--out', at(`beekeeper-${scenario}-${language}.html`)],
      );
    for (const visit of visits)
      stillwarm('report', 'lab', '--store', store, '--visit', visit, '--out', at(`lab-${visit}.html`));
  }
  for (const args of PLANNED)
    stillwarm(...args.map((word) => (/\.(csv|html)$/.test(word) ? at(word) : word)));
  for (const file of readdirSync(folder).filter((each) => each.endsWith('.html')))
    say(pagePictures(readFileSync(at(file), 'utf8'), folder, file.replace('.html', '')).join('\n'));
}

try {
  main(process.argv[2]);
} catch (error) {
  process.stderr.write(`${(error as Error).message}\n`);
  process.exitCode = 1;
}
