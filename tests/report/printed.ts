import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect } from 'vitest';

/** Of headless Chromium. */
export const OPTIONS = ['--headless', '--no-sandbox', '--disable-gpu'];

/** Prints a page on sheets of a size: what is made of the file that comes out. */
export function printed<T>(page: string, size: 'A4' | 'Letter', use: (file: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-print-'));
  try {
    const [source, file] = [join(folder, 'page.html'), join(folder, 'page.pdf')];
    writeFileSync(source, page.replace('</head>', `<style>@page { size: ${size}; }</style></head>`));
    const options = [...OPTIONS, `--user-data-dir=${join(folder, 'profile')}`];
    const { status } = spawnSync('chromium', [
      ...options,
      '--no-pdf-header-footer',
      `--print-to-pdf=${file}`,
      `file://${source}`,
    ]);
    expect(status).toBe(0);
    return use(file);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** On how many sheets a page is printed. */
export const sheets = (page: string, size: 'A4' | 'Letter'): number =>
  printed(page, size, (file) => readFileSync(file, 'latin1').match(/\/Type *\/Page\b/g)?.length ?? 0);
