import { spawnSync } from 'node:child_process';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { type Figure, figureOf, type Row } from './row.js';

/** The groups of rows, each measured in a process of its own so that its peak memory is its own. */
const GROUPS: Record<string, () => Promise<{ rows: readonly Row[] }>> = {
  start: () => import('./start.js'),
  installed: () => import('./installed.js'),
  emulation: () => import('./emulation.js'),
  firmware: () => import('./firmware.js'),
  judging: () => import('./judging.js'),
  sealed: () => import('./sealed.js'),
  efficacy: () => import('./efficacy.js'),
  capture: () => import('./capture.js'),
  bundle: () => import('./bundle.js'),
  season: () => import('./season.js'),
  export: () => import('./export.js'),
  logger: () => import('./logger.js'),
  syncs: () => import('./syncs.js'),
  mirror: () => import('./mirror.js'),
  screen: () => import('./screen.js'),
};

const peakMiB = () => process.resourceUsage().maxRSS / 1024;
const [argument, ...others] = process.argv.slice(2);

if (argument === '--group') {
  const { rows } = await GROUPS[others[0]!]!();
  const figures: Figure[] = [];
  for (const row of rows) figures.push(await figureOf(row, peakMiB));
  process.stdout.write(JSON.stringify(figures));
} else {
  const wanted = [argument, ...others].filter((name) => name !== undefined && name in GROUPS) as string[];
  const failed: string[] = [];
  const figures = (wanted.length > 0 ? wanted : Object.keys(GROUPS)).flatMap((group): Figure[] => {
    process.stderr.write(`measuring ${group}\n`);
    const child = spawnSync(process.execPath, [fileURLToPath(import.meta.url), '--group', group], {
      stdio: ['ignore', 'pipe', 'inherit'],
      maxBuffer: 1 << 24,
    });
    if (child.status !== 0) {
      failed.push(group);
      return [];
    }
    return JSON.parse(child.stdout.toString()) as Figure[];
  });
  const machine = { node: process.version, cores: cpus().length, model: cpus()[0]?.model ?? 'unknown' };
  if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify({ machine, figures })}\n`);
  else process.stdout.write(`${table(figures)}\n\nnode ${machine.node}, ${machine.cores} cores\n`);
  if (failed.length > 0) {
    process.stderr.write(`not measured, see above: ${failed.join(', ')}\n`);
    process.exitCode = 1;
  }
}

function table(figures: readonly Figure[]): string {
  const rows = figures.map((figure) => [
    figure.name,
    figure.against,
    figure.ratio.toPrecision(3),
    String(figure.runs),
    `${figure.spread[0].toPrecision(3)}-${figure.spread[1].toPrecision(3)}`,
    figure.aim,
    figure.met === null ? '' : figure.met ? 'met' : 'missed',
    `${figure.unit === 's' ? figure.ours.toPrecision(3) : Math.round(figure.ours)} ${figure.unit}`,
    `${figure.peakMiB.toFixed(0)} MiB`,
  ]);
  const head = ['what', 'against', 'ratio', 'runs', 'spread', 'aim', '', 'ours', 'peak'];
  const all = [head, head.map(() => '---'), ...rows];
  return all.map((row) => `| ${row.join(' | ')} |`).join('\n');
}
