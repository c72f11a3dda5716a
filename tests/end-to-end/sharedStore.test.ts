import { spawnSync } from 'node:child_process';
import { chmodSync, chownSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { eachInNewFolder } from '../tools/newFolder.js';
import { PROGRAM } from './program.js';

/** The service's user and somebody of its group, on no system; a umask as the unit sets it. */
const [SERVICE, CREW, GROUP] = [62_001, 62_002, 62_000];
const UMASK = readFileSync('docs/service/stillwarm.service', 'utf8').match(/^UMask=(\d+)$/m)![1]!;

let folder: string;
const store = () => join(folder, 'x.sqlite');
eachInNewFolder((fresh) => {
  folder = fresh;
  if (process.getuid?.() !== 0) return;
  // As systemd makes it: StateDirectoryMode=2770.
  chownSync(folder, SERVICE, GROUP);
  chmodSync(folder, 0o2770);
});

/** Runs a command line as a user of the group, with that umask. */
const as = (uid: number, umask: string, ...args: string[]) => {
  const { status, stdout, stderr } = spawnSync(
    'sh',
    ['-c', `umask ${umask}; exec "$0" "$@"`, process.execPath, PROGRAM, ...args],
    { uid, gid: GROUP, encoding: 'utf8', cwd: folder, env: { PATH: process.env['PATH'] } },
  );
  return { status, out: stdout, err: stderr };
};
/** Only root may become another, and others may not be able to read the program where it lies. */
const canTry = process.getuid?.() === 0 && as(SERVICE, '0022', '--version').status === 0;

describe.skipIf(!canTry)('a store in the folder of the service', () => {
  const visit = (name: string) => ['visit', 'open', name, '--yard', 'Y1', '--by', 'crew', '--store', store()];

  it('can be written by the people of its group, whoever made it', () => {
    expect(as(SERVICE, UMASK, ...visit('V1'))).toMatchObject({ status: 0 });
    expect(statSync(store()).mode & 0o777).toBe(0o660);
    expect(as(CREW, '0022', ...visit('V2'))).toMatchObject({ status: 0 });
    expect(as(SERVICE, UMASK, ...visit('V3'))).toMatchObject({ status: 0 });
    const { findings } = JSON.parse(as(CREW, '0022', 'checkup', '--json', '--store', store()).out) as {
      findings: { check: string; state: string }[];
    };
    expect(findings.find(({ check }) => check === 'permission')).toMatchObject({ state: 'good' });
  });

  it('is refused to them in one sentence when it was made for one user alone (negative control)', () => {
    expect(as(SERVICE, '0027', ...visit('V1'))).toMatchObject({ status: 0 });
    const { status, err } = as(CREW, '0022', ...visit('V2'));
    expect(status).toBe(1);
    expect(err).toMatch(/x\.sqlite (cannot|may not) be (written|opened|read)/);
  });
});
