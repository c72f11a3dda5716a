import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkBundle } from '../../src/bundle/check.js';
import { sentence } from '../../src/bundle/finding.js';
import type { Tampering } from './tamper.js';

/** What the check finds and notes in a copy of a bundle with something done to it, in sentences. */
export async function checkTampered(bundle: string, tampering: Tampering, version?: string) {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-tampered-'));
  try {
    const copy = join(folder, 'bundle');
    cpSync(bundle, copy, { recursive: true });
    tampering(copy);
    const { findings, notes } = await checkBundle(copy, version);
    return { findings: findings.map(sentence), notes };
  } finally {
    rmSync(folder, { recursive: true });
  }
}
