import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/** The rules of the house, read off the tree itself. */
const TOP_LEVEL = [
  'DEVELOPERS.md',
  'LICENSE',
  'README.md',
  'docs',
  'hardware',
  'package-lock.json',
  'package.json',
  'shared',
  'src',
  'tests',
  'tsconfig.json',
];
/** Each layer may import itself and those after it in its own list. */
const LAYERS: Record<string, readonly string[]> = {
  shared: [],
  units: [],
  emulator: ['units'],
  carrier: ['emulator', 'units'],
  exposure: ['shared', 'units'],
  store: ['shared', 'units'],
  visit: ['store', 'exposure', 'shared', 'units'],
  plan: ['visit', 'store', 'exposure', 'shared', 'units'],
  logger: ['visit', 'store', 'carrier', 'emulator', 'exposure', 'shared', 'units'],
  mirror: ['visit', 'store', 'exposure', 'shared', 'units'],
  export: ['mirror', 'visit', 'store', 'exposure', 'shared', 'units'],
  screen: ['plan', 'visit', 'store', 'exposure', 'shared', 'units'],
  report: ['plan', 'visit', 'store', 'exposure', 'shared', 'units'],
  bundle: ['export', 'report', 'visit', 'store', 'exposure', 'shared', 'units'],
  hardware: ['units'],
  cli: [
    'export',
    'screen',
    'report',
    'plan',
    'bundle',
    'logger',
    'mirror',
    'visit',
    'store',
    'carrier',
    'emulator',
    'exposure',
    'shared',
    'units',
  ],
};
const CLOCK_HOME = 'src/units/clock.ts';
const CLOCKS_AND_CHANCE =
  /\bDate\.now\b|\bnew Date\(\)|\bperformance\.now\b|\bprocess\.(?:hrtime|uptime)\b|\b(?:os\.)?uptime\(|\bset(?:Timeout|Interval)\b|\bMath\.random\b|\brandom(?:Bytes|UUID|Int)\b|\bTemporal\.Now\.(?!timeZoneId)/;
const LINES_MAX = 400;

const files = execFileSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
  encoding: 'utf8',
})
  .split('\n')
  .filter(Boolean);
const sources = files
  .filter((path) => /^(src|shared|hardware)\/.*\.ts$/.test(path))
  .map((path) => ({
    path,
    text: readFileSync(path, 'utf8'),
  }));

/** The folder below `src`, or the one at the top for what lies outside it. */
const layerOf = (path: string) => path.split('/')[path.startsWith('src/') ? 1 : 0]!;

/** Imports that do not point down, as `FILE imports LAYER`. */
function upwardImports(tree: readonly { path: string; text: string }[]): string[] {
  return tree.flatMap(({ path, text }) => {
    const from = layerOf(path);
    return [...text.matchAll(/(?:from|import)\s*\(?\s*'(\.[^']+)'/g)]
      .map((match) => new URL(match[1]!, `file:///${path}`).pathname.slice(1))
      .map(layerOf)
      .filter((to) => to !== from && !LAYERS[from]?.includes(to))
      .map((to) => `${path} imports ${to}`);
  });
}

/** Files that read a clock, wait, or draw lots outside the one place for it. */
function clockUsers(tree: readonly { path: string; text: string }[]): string[] {
  return tree
    .filter(({ path, text }) => path !== CLOCK_HOME && CLOCKS_AND_CHANCE.test(withoutComments(text)))
    .map(({ path }) => path);
}

const withoutComments = (text: string) => text.replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');

describe('the tree', () => {
  it('has the agreed top level and nothing more', () => {
    const top = [...new Set(files.map((path) => path.split('/')[0]!))].filter(
      (name) => !name.startsWith('.'),
    );
    expect(top.sort()).toEqual(TOP_LEVEL);
  });

  it('imports only downwards', () => {
    expect(sources.length).toBeGreaterThan(30);
    expect(upwardImports(sources)).toEqual([]);
  });

  it('touches clock, timers and chance in one place', () => {
    expect(clockUsers(sources)).toEqual([]);
    expect(sources.some(({ path }) => path === CLOCK_HOME)).toBe(true);
  });

  it('has no file of two subjects', () => {
    const long = files
      .filter((path) => /\.(ts|c|h)$/.test(path))
      .filter((path) => readFileSync(path, 'utf8').split('\n').length > LINES_MAX);
    expect(long).toEqual([]);
  });

  it('reads nothing outside itself', () => {
    const outside = /\.\.\/shared\/(?:reference|DESIGN|STYLE)|['"]\/(?:work|root|tmp)\//;
    expect(sources.filter(({ text }) => outside.test(text)).map(({ path }) => path)).toEqual([]);
  });

  it('keeps tests where their source is', () => {
    const homes = new Set([
      'config',
      'tools',
      'end-to-end',
      'reference',
      'bench',
      'simulation',
      'hardware',
      'docs',
      'shared',
    ]);
    const strangers = files
      .filter((path) => /^tests\/.*\.test\.ts$/.test(path) && path !== 'tests/tidy.test.ts')
      .filter((path) => {
        const [, folder] = path.split('/');
        return !homes.has(folder!) && !LAYERS[folder!];
      });
    expect(strangers).toEqual([]);
  });
});

describe('the checks of the tree', () => {
  it('find an import that points up', () => {
    const tree = [{ path: 'src/store/x.ts', text: "import { y } from '../screen/y.js';" }];
    expect(upwardImports(tree)).toEqual(['src/store/x.ts imports screen']);
    const hardware = [{ path: 'hardware/wiring/x.ts', text: "import { y } from '../../src/store/y.js';" }];
    expect(upwardImports(hardware)).toEqual(['hardware/wiring/x.ts imports store']);
  });

  it.each(['const t = Date.now();', 'setTimeout(f, 1);', 'const r = Math.random();', 'new Date()'])(
    'find %s outside its home',
    (text) => {
      expect(clockUsers([{ path: 'src/visit/x.ts', text }])).toEqual(['src/visit/x.ts']);
      expect(clockUsers([{ path: CLOCK_HOME, text }])).toEqual([]);
      expect(clockUsers([{ path: 'src/visit/x.ts', text: `// ${text}` }])).toEqual([]);
    },
  );
});
