import { chmodSync, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { type Keeper, keepAwake, keeperFor } from '../../src/logger/awake.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { type DurationMs, monotonicMs } from '../../src/units/time.js';
import { until } from '../end-to-end/program.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { label, minute, OPENED, opens, visit } from '../visit/situation.js';

let folder: string;
let store: Store;
let said: string[];
let look: () => void;
let now: number;
let stop: () => void;
eachInNewFolder((fresh) => {
  folder = fresh;
  store = openStoreToWrite(join(folder, 'x.sqlite'), OPENED);
  said = [];
  now = 0;
  stop = () => {};
});
afterEach(() => {
  stop();
  store.close();
});

const clock = {
  monotonic: () => monotonicMs(now),
  every: (_: DurationMs, task: () => void) => {
    look = task;
    return () => {};
  },
};
function begin(keeper: Keeper | null): void {
  stop = keepAwake({ store, clock, say: (sentence) => said.push(sentence), keeper });
}
function load(): void {
  store.append(OPENED, opens, {
    type: 'cup-loaded',
    visit,
    cup: label('A-1'),
    kind: 'strip',
    active: 'amitraz strip',
    lot: 'L7',
    colony: null,
    group: null,
    at: minute(0),
  });
}
const turn = () => store.append(minute(180), { type: 'cup-turned', cup: label('A-1'), at: minute(180) });
/** A program that writes down its process, whole at once, and then does `does`. */
function stub(does: string): Keeper {
  const path = join(folder, 'keeper');
  writeFileSync(
    path,
    `#!/bin/sh\necho $$ >"${folder}/pid.new"\nmv "${folder}/pid.new" "${folder}/pid"\n${does}\n`,
  );
  chmodSync(path, 0o755);
  return [path];
}
const isAlive = () => {
  try {
    process.kill(Number(readFileSync(join(folder, 'pid'), 'utf8')), 0);
    return true;
  } catch {
    return false;
  }
};

describe('keepAwake()', () => {
  it('holds a program while a cup is loaded, and lets it go at the turn', async () => {
    begin(stub('exec cat'));
    look();
    expect(existsSync(join(folder, 'pid'))).toBe(false);
    load();
    look();
    await until('the program runs', isAlive);
    look();
    expect(said.length).toBe(1);
    expect(said[0]).toMatch(/was asked to keep this computer awake$/);
    turn();
    look();
    await until('the program has ended', () => !isAlive());
    expect(said[1]).toBe('sleep: no cup is loaded; this computer may sleep again');
  });

  it('lets the program go when the logging ends', async () => {
    load();
    begin(stub('exec cat'));
    await until('the program runs', isAlive);
    stop();
    await until('the program has ended', () => !isAlive());
  });

  it('says once why it is denied, and asks again after a minute', async () => {
    load();
    begin(stub('echo Access denied >&2; exit 1'));
    await until('it is denied', () => /cannot be kept awake \(Access denied\)/.test(said.at(-1) ?? ''));
    rmSync(join(folder, 'pid'));
    now = 59_000;
    look();
    expect(said.length).toBe(2);
    stub('exec cat');
    now = 61_000;
    look();
    await until('the program runs', isAlive);
  });

  it('says when the program is not there, and goes on', async () => {
    load();
    begin([join(folder, 'nothing')]);
    await until('it is missed', () => /cannot be kept awake \(there is no /.test(said.at(-1) ?? ''));
  });

  it('says that nothing is done where there is no such program', () => {
    load();
    begin(keeperFor('win32', 1));
    expect(said).toEqual([
      'sleep: cups are loaded, and nothing here keeps this computer awake: switch off sleep',
    ]);
  });
});
