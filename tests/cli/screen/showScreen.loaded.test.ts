import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const built = (path: string) => fileURLToPath(new URL(`../../../.build/src/${path}`, import.meta.url));

/** Tells every module that is loaded, of whatever kind. */
const HOOKS = `
  import { writeSync } from 'node:fs';
  export async function load(url, context, next) { writeSync(2, url + '\\n'); return next(url, context); }`;
const hook = (source: string) => `data:text/javascript,${encodeURIComponent(source)}`;
const REGISTER = `import { register } from 'node:module'; register(${JSON.stringify(hook(HOOKS))});`;

/** The packages that these built files load, with all that they import, and what is called of them then. */
function packagesOf(files: readonly string[], call = ''): ReadonlySet<string> {
  const script = `process.env.NODE_ENV = 'production';
    ${files.map((file) => `const file${files.indexOf(file)} = await import(${JSON.stringify(built(file))});`).join(' ')}
    ${call};
    const { createRequire } = await import('node:module');
    console.error(Object.keys(createRequire(import.meta.url).cache).join('\\n'));`;
  const { status, stderr } = spawnSync(
    process.execPath,
    ['--import', hook(REGISTER), '--input-type=module', '-e', script],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr);
  return new Set([...stderr.matchAll(/.*node_modules\/(@[^/]+|[^/]+)/g)].map(([, name]) => name!));
}

/** What takes long to load or much room, and is of no use to who looks at cups. */
const HEAVY = ['@stdlib', 'avr8js', 'csv-parse', 'firmata-io', 'influx', 'johnny-five', 'pino', 'serialport'];
const heavyIn = (packages: ReadonlySet<string>) => HEAVY.filter((name) => packages.has(name));

it('the screen loads neither the statistics nor what talks to boards and servers', () => {
  const packages = packagesOf(['cli/watch.js', 'cli/screen/showScreen.js', 'screen/runScreen.js']);
  expect(packages).toContain('libsql');
  expect(heavyIn(packages)).toEqual([]);
});

it('what works a result out does load the statistics, so that the list above would show them', () => {
  const quantiles = '../shared/quantiles.js';
  expect(heavyIn(packagesOf(['cli/visit.js', quantiles]))).toEqual(['csv-parse']);
  const called = packagesOf(['cli/visit.js', quantiles], 'file1.betaQuantile(0.5, 2, 3)');
  expect(heavyIn(called)).toEqual(['@stdlib', 'csv-parse']);
});
