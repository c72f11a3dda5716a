import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createReadStream, createWriteStream, existsSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { openStoreToRead } from '../../src/store/store.js';
import { systemClock } from '../../src/units/clock.js';
import { parseRomId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { FirmataPeer } from '../carrier/stock/firmataPeer.js';
import { whyNot } from '../tools/debianPrograms.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { start, until } from './program.js';

// ROM id that checks: published clone report, CC BY
const rom = parseRomId('28-13-9B-BB-0B-00-00-1F')!;

let folder: string;
let store: string;
let boardEnd: string;
let hostEnd: string;
let cable: ChildProcess;
let logger: ChildProcess | null = null;

/** A cable of two pseudo-terminals, and at its far end a board that speaks the bytes of the published protocol. */
async function plugIn(): Promise<{ peer: FirmataPeer; pullOut: () => Promise<void> }> {
  cable = spawn('socat', [`pty,rawer,link=${boardEnd}`, `pty,rawer,link=${hostEnd}`], { stdio: 'ignore' });
  await until('the cable is plugged in', () => existsSync(boardEnd) && existsSync(hostEnd), 10);
  const out = createWriteStream(boardEnd);
  const from = createReadStream(boardEnd);
  out.on('error', () => {});
  from.on('error', () => {});
  const peer = new FirmataPeer({
    clock: systemClock,
    send: (bytes) => out.write(bytes),
    probes: [{ rom, temperature: () => 420 }],
    analog: { 0: () => 154 },
  });
  from.on('data', (bytes) => peer.receive(bytes as Buffer));
  const pullOut = async () => {
    peer.off();
    cable.kill('SIGKILL');
    await once(cable, 'close');
    out.destroy();
    from.destroy();
    for (const end of [boardEnd, hostEnd]) rmSync(end, { force: true });
  };
  return { peer, pullOut };
}

const held = () => {
  const opened = openStoreToRead(store);
  try {
    return {
      facts: opened.facts().map(({ fact }) => fact),
      readings: opened.readingsAfter(0, 1000),
    };
  } finally {
    opened.close();
  }
};

describe.skipIf(whyNot('socat'))(`log on a stock board ${whyNot('socat') ?? ''}`, () => {
  eachInNewFolder((fresh) => {
    folder = fresh;
    store = join(folder, 'season.sqlite');
    boardEnd = join(folder, 'board');
    hostEnd = join(folder, 'host');
  });
  afterEach(() => {
    logger?.kill('SIGKILL');
    cable.kill();
  });

  it('reads thermometers and an analog probe, sees a reset, and is back after it was unplugged', async () => {
    const sources = join(folder, 'sources.json');
    const analog = [{ part: 'TMP36', channel: 0, referencePercent: 0.5 }];
    writeFileSync(
      sources,
      JSON.stringify({ sources: [{ kind: 'stock', port: hostEnd, carrier: 'S', analog }] }),
    );
    const first = await plugIn();
    logger = start('log', '--store', store, '--sources', sources);
    let said = '';
    logger.stderr!.on('data', (text: Buffer) => {
      said += text;
    });
    const times = (what: string) => said.split(what).length - 1;
    await until('the port is open', () => times('is open') === 1, 20);
    first.peer.boot();
    const { readings, facts } = await until('the first scan is in the store', () => {
      const seen = existsSync(store) ? held() : null;
      return seen !== null && seen.readings.length >= 2 && seen;
    });
    const table = facts.find((fact) => fact.type === 'probes-found')!;
    expect(table.probes.map(({ rom: id }) => id.slice(0, 2))).toEqual(['28', 'A0']);
    // docs/sources.md: U 2.7 degC for this part and reference, u of the probe alone by analogUncertainty()
    expect(table.probes[1]!.uncertainty).toBeCloseTo(1.32, 1);
    expect(readings.find((each) => each.rom === rom)).toMatchObject({ raw: 420, status: 'first-conversion' });
    expect(facts.find((fact) => fact.type === 'board-booted')).toMatchObject({
      firmware: 'ConfigurableFirmata-2.10',
    });

    first.peer.boot();
    await until('the reset was seen', () => times('the board has restarted') === 1, 20);
    const before = said.length;
    await first.pullOut();
    // Whichever is noticed first: the end of the line, or 25 s without any data.
    await until('the loss was seen', () => said.slice(before).includes(`${hostEnd}: `), 40);
    const second = await plugIn();
    await until('the port is open again', () => times('is open') === 2, 30);
    second.peer.boot();
    await until(
      'it is read again',
      () => held().facts.filter(({ type }) => type === 'board-booted').length === 3,
    );
    logger.kill('SIGTERM');
    await once(logger, 'close');
    expect(logger.exitCode).toBe(0);
    const opened = openStoreToRead(store);
    expect(opened.brokenAt()).toBeNull();
    expect(
      opened.readings(rom, utcMs(0), utcMs(Number.MAX_SAFE_INTEGER)).every(({ raw }) => raw === 420),
    ).toBe(true);
    opened.close();
    await second.pullOut();
  });
});
