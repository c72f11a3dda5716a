import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type KernelFiles, kernelFiles } from '../../../src/carrier/oneWire/kernelFiles.js';
import { crc8, type RomId } from '../../../src/units/ids.js';
import { durationMs } from '../../../src/units/time.js';
import { POWER_UP } from '../host/scratchpads.js';
import type { VirtualClock } from '../host/virtualClock.js';

/** The kernel's name of a probe: family, then the serial number backwards, without its CRC (w1_therm documentation). */
export function slaveName(rom: RomId): string {
  const pairs = rom.toLowerCase().split('-');
  return `${pairs[0]}-${pairs.slice(1, 7).reverse().join('')}`;
}

/** The text of `w1_slave` as the driver writes it: what was read, then the last good bytes. */
export function slaveText(bytes: readonly number[], lastGood: readonly number[] = bytes): string {
  const hex = (all: readonly number[]) => all.map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
  const crc = crc8(bytes.slice(0, 8));
  const milli = Math.round((((bytes[0]! | (bytes[1]! << 8)) << 16) >> 16) * 62.5);
  const verdict = crc === bytes[8] ? 'YES' : 'NO';
  return `${hex(bytes)} : crc=${crc.toString(16).padStart(2, '0')} ${verdict}\n${hex(lastGood)} t=${milli}\n`;
}

/** What a probe on the stand-in's bus does. */
export interface TreeProbe {
  readonly rom: RomId;
  /** The nine bytes after a conversion that began now. */
  convert: () => readonly number[];
}

/**
 * A tree of files as the kernel shows its buses, and a stand-in for its driver: the tree's files are real, and what
 * the driver does when one is read or written is done around the reading and the writing.
 */
export class KernelTree {
  readonly root: string;
  readonly #clock: VirtualClock;
  readonly #ram = new Map<string, readonly number[]>();
  readonly #probes = new Map<string, TreeProbe & { master: string }>();
  /** Probes with a result of a common conversion that was not read yet. */
  readonly #pending = new Set<string>();
  /** No presence pulse: the driver marks all as converted at once, and nothing has converted. */
  isBulkDead = false;
  conversions = { together: 0, single: 0 };

  constructor(clock: VirtualClock, root = mkdtempSync(join(tmpdir(), 'stillwarm-w1-'))) {
    this.#clock = clock;
    this.root = root;
  }

  add(probe: TreeProbe, { master = 'w1_bus_master1', hasBulk = true, hasAlarms = true } = {}): string {
    const name = slaveName(probe.rom);
    const folder = join(this.root, master, name);
    mkdirSync(folder, { recursive: true });
    if (!existsSync(join(this.root, name))) symlinkSync(join(master, name), join(this.root, name));
    if (hasBulk) writeFileSync(join(this.root, master, 'therm_bulk_read'), '0\n');
    writeFileSync(join(folder, 'w1_slave'), '');
    writeFileSync(join(folder, 'resolution'), '12\n');
    if (hasAlarms) writeFileSync(join(folder, 'alarms'), '70 75\n');
    this.#probes.set(name, { ...probe, master });
    this.#ram.set(name, POWER_UP);
    return name;
  }
  remove(rom: RomId): void {
    const name = slaveName(rom);
    rmSync(join(this.root, name));
    rmSync(join(this.root, this.#probes.get(name)!.master, name), { recursive: true });
    this.#probes.delete(name);
  }
  /** What the next read of a probe gives in place of its own. */
  readonly instead = new Map<RomId, string>();
  written(rom: RomId, file: string): string {
    return readFileSync(join(this.root, slaveName(rom), file), 'latin1').trim();
  }

  files(): KernelFiles {
    const real = kernelFiles(this.root, this.#clock);
    return {
      list: (...path) => this.#clock.hold(() => real.list(...path)),
      read: (...path) =>
        this.#clock.hold(async () => {
          if (path[1] === 'w1_slave') await this.#show(path[0]!);
          if (path[1] === 'therm_bulk_read') this.#showBulk(path[0]!);
          return real.read(...path);
        }),
      write: async (text, ...path) => {
        const isThere = await this.#clock.hold(() => real.write(text, ...path));
        if (isThere && path[1] === 'therm_bulk_read') await this.#trigger(path[0]!, text);
        if (isThere && path[1] === 'alarms') this.#setAlarms(path[0]!, text);
        return isThere;
      },
    };
  }

  #showBulk(master: string): void {
    const isPending = [...this.#pending].some((name) => this.#probes.get(name)?.master === master);
    writeFileSync(join(this.root, master, 'therm_bulk_read'), isPending ? '1\n' : '0\n');
  }
  async #trigger(master: string, text: string): Promise<void> {
    // The driver takes this word with its newline and nothing else.
    if (text !== 'trigger\n') return;
    this.conversions.together += 1;
    const mine = [...this.#probes].filter(([, probe]) => probe.master === master);
    const values = mine.map(([name, { convert }]) => [name, convert()] as const);
    if (!this.isBulkDead) await this.#clock.sleep(durationMs(750));
    for (const [name, bytes] of values) {
      if (!this.isBulkDead) this.#ram.set(name, bytes);
      this.#pending.add(name);
    }
  }
  async #show(name: string): Promise<void> {
    const probe = this.#probes.get(name);
    if (probe === undefined) return;
    if (!this.#pending.delete(name)) {
      this.conversions.single += 1;
      this.#ram.set(name, probe.convert());
    }
    const text = this.instead.get(probe.rom) ?? slaveText(this.#ram.get(name)!);
    this.instead.delete(probe.rom);
    writeFileSync(join(this.root, name, 'w1_slave'), text);
  }
  #setAlarms(name: string, text: string): void {
    const [low, high] = text.trim().split(' ').map(Number) as [number, number];
    this.alarms.set(this.#probes.get(name)!.rom, { th: high & 0xff, tl: low & 0xff });
  }
  /** TH and TL of the probes that were set. */
  readonly alarms = new Map<RomId, { th: number; tl: number }>();

  discard(): void {
    rmSync(this.root, { recursive: true, force: true });
  }
}
