import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { type BoardMs, type DurationMs, durationMs, seconds } from '../../units/time.js';
import { BY_THE_LOGGER } from '../byteWire.js';
import type { CarrierEvent } from '../events.js';
import { type HostBoard, type HostParts, hostBoard, type Value } from '../host/hostBoard.js';
import { DS18B20 } from '../host/nineBytes.js';
import { MARK_TEXT, type RestartMarks, restartMarks } from '../host/restartMarks.js';
import { familyOf } from '../host/thermometers.js';
import { type UnchangingWatch, unchangingWatch } from '../host/unchanging.js';
import type { CarrierSource } from '../source.js';
import { type KernelFiles, kernelFiles } from './kernelFiles.js';
import { isOtherThermometer, readSlaveFile, romOfSlave } from './slaveFile.js';

/** Read faster, a probe heats itself. */
const PERIOD: DurationMs = seconds(10);
/** One folder never has more; a ROM id that flickers by faults must not fill the memory. */
export const PROBES_MAX = 64;
const MASTER = /^w1_bus_master\d+$/;
const BULK_READ = 'therm_bulk_read';
/** How long a conversion of all may take before its results are asked for all the same. */
const CONVERTED_WITHIN: DurationMs = seconds(3);
const POLL: DurationMs = seconds(0.1);
/** No conversion is shorter: 9 bit takes 93.75 ms at most, and the driver waits for the longest of the bus. */
const CONVERSION_MIN: DurationMs = seconds(0.09);

/**
 * Thermometers on the 1-Wire buses of this computer, as the kernel's drivers w1 and w1_therm show them in files. All
 * probes of a bus convert together where the driver can; otherwise one after the other, each with its own time.
 */
export function linuxOneWire(
  options: HostParts & {
    readonly folder: string;
    readonly period?: DurationMs;
    readonly files?: KernelFiles;
  },
): CarrierSource {
  const { clock, folder, period = PERIOD } = options;
  const files = options.files ?? kernelFiles(folder, clock);
  return {
    name: folder,
    async open() {
      if ((await files.list()) === null)
        throw new Refusal(
          `${folder} cannot be read; load the kernel's 1-Wire drivers (w1-gpio or your adapter's, and w1-therm), or name the folder of their devices.`,
        );
    },
    async run(onEvent: (event: CarrierEvent) => void, signal: AbortSignal) {
      const host = hostBoard(options, ['linux-1-wire', folder], () => 'linux-1-wire', onEvent);
      let bus: Bus | null = null;
      while (!signal.aborted) {
        const began = clock.monotonic();
        const names = await files.list();
        if (names === null) {
          if (bus !== null) host.link('closed', `${folder} is gone; looking for it every ${period / 1000} s`);
          bus = null;
        } else {
          if (bus === null) {
            host.link('open', `${folder} is there`);
            host.begin();
            bus = newBus(host);
          }
          await scanAll({ folder, host, files, clock, signal, ...bus }, names);
        }
        await clock.sleep(durationMs(Math.max(0, began + period - clock.monotonic())), signal);
      }
      host.link('closed', `${folder}: ${BY_THE_LOGGER}`);
    },
    // Nobody at the other end hears commands.
    write() {},
  };
}

/** What is remembered of the buses while they are there. */
interface Bus {
  readonly marks: RestartMarks;
  readonly unchanging: UnchangingWatch;
  readonly said: Set<string>;
}
const newBus = (host: HostBoard): Bus => ({
  marks: restartMarks(),
  unchanging: unchangingWatch((sentence) => host.link('note', sentence)),
  said: new Set(),
});

interface Scanning extends Bus, Pick<HostParts, 'clock'> {
  readonly folder: string;
  readonly host: HostBoard;
  readonly files: KernelFiles;
  readonly signal: AbortSignal;
}

async function scanAll(on: Scanning, names: readonly string[]): Promise<void> {
  const { host, files } = on;
  const slaves = new Map<RomId, string>();
  for (const name of [...names].sort()) {
    const rom = romOfSlave(name);
    if (rom !== null) slaves.set(rom, name);
    else if (isOtherThermometer(name))
      note(on, `${name} is a thermometer of a family that is not read here; left out`);
  }
  host.beat();
  host.probes(admitted(on, [...slaves.keys()]).map((rom) => ({ rom })));
  host.nextScan();
  if (host.known().length === 0)
    note(
      on,
      `${on.folder} holds no probe that is read here: look at wires and folder (on Linux /sys/bus/w1/devices); probes are taken as they appear`,
    );

  const masters = new Map<string, RomId[]>();
  for (const master of names.filter((name) => MASTER.test(name))) {
    const inside = new Set(await files.list(master));
    const roms = host.known().filter((rom) => inside.has(slaves.get(rom) ?? ''));
    if (roms.length > 0) masters.set(master, roms);
  }
  const single = new Set(host.known());
  await Promise.all(
    [...masters].map(async ([master, roms]) => {
      const began = await convertTogether(on, master);
      if (began === null) return;
      for (const rom of roms) single.delete(rom);
      const values: Value[] = [];
      for (const rom of roms) {
        if (on.signal.aborted) return;
        values.push(await readProbe(on, rom, slaves.get(rom)!));
      }
      host.scan(began, values);
    }),
  );
  for (const rom of single) {
    if (on.signal.aborted) return;
    const began = host.now();
    const slave = slaves.get(rom);
    const value = slave === undefined ? MISSING : await readProbe(on, rom, slave);
    host.scan(began, [{ ...value, rom }]);
  }
}
const MISSING = { raw: null, status: 'missing' } as const;

/** Those that are known, and new ones up to the limit. */
function admitted(on: Scanning, roms: readonly RomId[]): RomId[] {
  const known = new Set(on.host.known());
  const added = roms.filter((rom) => !known.has(rom));
  const room = PROBES_MAX - known.size;
  if (added.length > room) note(on, `more than ${PROBES_MAX} probes: the others are left out`);
  return [...known, ...added.slice(0, room)];
}

/**
 * Has all probes of a bus convert at once and waits for it. When they began; null when each is to be read by itself.
 * The driver does not tell that a conversion failed: it is over at once then, and what the probes held before is
 * handed out with a right CRC, once each. That is read here and thrown away.
 */
async function convertTogether(on: Scanning, master: string): Promise<BoardMs | null> {
  const { host, files, clock } = on;
  const began = host.now();
  const begun = clock.monotonic();
  if (!(await files.write('trigger\n', master, BULK_READ))) return null;
  for (;;) {
    const state = (await files.read(master, BULK_READ))?.trim();
    const elapsed = clock.monotonic() - begun;
    // Nothing is pending: each probe will convert when it is read.
    if (state === '0') return null;
    if (state === '1' && elapsed < CONVERSION_MIN) {
      note(on, `${master} could not make its probes convert together; then they are read one by one`);
      for (const name of (await files.list(master)) ?? [])
        if (romOfSlave(name) !== null) await files.read(name, 'w1_slave');
      return null;
    }
    if (state === '1' || elapsed >= CONVERTED_WITHIN) return began;
    await clock.sleep(POLL);
  }
}

async function readProbe(
  { files, marks, unchanging, host }: Scanning,
  rom: RomId,
  slave: string,
): Promise<Value> {
  const { bytes, ...reading } = readSlaveFile(await files.read(slave, 'w1_slave'), rom, marks.expected(rom));
  if (bytes !== null) marks.read(rom, bytes);
  if (reading.status === 'restarted' || reading.status === 'not-converted') marks.lost(rom);
  if (reading.status === 'bad-configuration' && familyOf(rom) === DS18B20)
    await files.write('12\n', slave, 'resolution');
  if (bytes !== null && marks.isDue(rom)) marks.wrote(rom, await files.write(MARK_TEXT, slave, 'alarms'));
  return unchanging.look({ rom, ...reading }, host.now());
}

/** Says a sentence once for as long as the buses are there. */
function note(on: Scanning, sentence: string): void {
  if (on.said.has(sentence)) return;
  on.said.add(sentence);
  on.host.link('note', sentence);
}
