import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import type { Context } from '../../src/cli/context.js';
import { define } from '../../src/cli/log.js';
import { whyNot } from '../tools/debianPrograms.js';

const UNIT = readFileSync('docs/service/stillwarm.service', 'utf8');

/** What systemd finds wrong with the unit; the programs it would run are put in their places first. */
function verified(text: string): { status: number | null; says: string } {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-unit-'));
  try {
    const path = join(folder, 'stillwarm.service');
    writeFileSync(path, text.replace('/usr/bin/node', '/bin/true'));
    const { status, stderr } = spawnSync('systemd-analyze', ['verify', path], { encoding: 'utf8' });
    return { status, says: stderr };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

describe('the unit of the logger', () => {
  it.skipIf(whyNot('systemd-analyze') !== null)('is well formed in the eyes of systemd', () => {
    expect(verified(UNIT)).toEqual({ status: 0, says: '' });
  });

  it.skipIf(whyNot('systemd-analyze') !== null)('is found out when it is not (negative control)', () => {
    expect(verified(UNIT.replace('Restart=on-failure', 'Restart=perhaps')).says).toMatch(/restart specifier/);
    expect(verified(UNIT.replace(/^ExecStart=.*$/m, '')).status).not.toBe(0);
  });

  it('starts a command that exists, with its options', () => {
    const words = UNIT.match(/stillwarm\.js log (.*)$/m)![1]!.split(' ');
    const command = new Command('log');
    define(command, {} as Context);
    const known = command.options.map(({ long }) => long);
    expect(words.filter((word) => word.startsWith('--')).filter((word) => !known.includes(word))).toEqual([]);
  });
});
