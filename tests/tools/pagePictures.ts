import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Widths of windows, CSS pixels: a computer's, a telephone's. */
export const WIDTHS = [900, 400] as const;
export const SHEETS = ['A4', 'Letter'] as const;

const OPTIONS = ['--headless', '--no-sandbox', '--disable-gpu', '--hide-scrollbars'];
/** Of printed sheets. */
const DOTS_PER_INCH = 100;
/** Chromium makes no window narrower than this, so a narrower page is put into a frame. */
const WINDOW_MIN = 500;

function run(program: string, args: readonly string[]): string {
  const { status, stdout, stderr, error } = spawnSync(program, args, { encoding: 'utf8' });
  if (error !== undefined || status !== 0)
    throw new Error(`${program} failed: ${error?.message ?? stderr.trim()}`);
  return stdout;
}

/**
 * Pictures of a page, for somebody to look at: `NAME-900.png` and `NAME-400.png` as it is on screens so wide, in full length,
 * and `NAME-A4-1.png`, ... sheet by sheet as it is printed.
 *
 * @returns the files, in order
 */
export function pagePictures(page: string, folder: string, name: string): string[] {
  const work = mkdtempSync(join(tmpdir(), 'stillwarm-pictures-'));
  try {
    const chromium = (...args: string[]) =>
      run('chromium', [...OPTIONS, `--user-data-dir=${join(work, 'profile')}`, ...args]);
    const put = (file: string, text: string): string => {
      writeFileSync(join(work, file), text);
      return `file://${join(work, file)}`;
    };
    const before = new Set(readdirSync(folder));
    for (const width of WIDTHS) {
      const plain = put('page.html', page);
      const framed = (height: number) =>
        put(
          'frame.html',
          `<body style="margin:0"><iframe style="border:0;display:block" width="${width}" height="${height}" src="${plain}"></iframe></body>`,
        );
      const height = heightAt(width, page, put, chromium);
      chromium(
        `--window-size=${Math.max(width, WINDOW_MIN)},${height}`,
        `--screenshot=${join(folder, `${name}-${width}.png`)}`,
        width < WINDOW_MIN ? framed(height) : plain,
      );
    }
    for (const sheet of SHEETS) {
      const pdf = join(work, `${sheet}.pdf`);
      const sized = put(
        'sized.html',
        page.replace('</head>', `<style>@page { size: ${sheet}; }</style></head>`),
      );
      chromium('--no-pdf-header-footer', `--print-to-pdf=${pdf}`, sized);
      run('pdftoppm', ['-r', String(DOTS_PER_INCH), '-png', pdf, join(folder, `${name}-${sheet}`)]);
    }
    return readdirSync(folder)
      .filter((file) => !before.has(file))
      .sort();
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** How long a page is on a screen so wide. A script measures it, which pages of ours forbid, so the ban is taken out. */
function heightAt(
  width: number,
  page: string,
  put: (file: string, text: string) => string,
  chromium: (...args: string[]) => string,
): number {
  const open = page
    .replace(/<meta http-equiv[^>]*>/, '')
    .replace(
      '</body>',
      '<script>parent.postMessage(document.documentElement.scrollHeight, "*")</script></body>',
    );
  const inner = put('measured.html', open);
  const outer = put(
    'measure.html',
    `<script>addEventListener('message', ({ data }) => { document.title = data; });</script><iframe style="border:0" width="${width}" height="10" src="${inner}"></iframe>`,
  );
  const found = /<title>(\d+)<\/title>/.exec(chromium('--virtual-time-budget=5000', '--dump-dom', outer));
  if (found === null) throw new Error('chromium did not tell how long the page is');
  return Number(found[1]);
}
