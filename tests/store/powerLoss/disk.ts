import type { Chance } from '../../../src/units/clock.js';
import type { Operation } from './recording.js';

type Change = Extract<Operation, { does: 'write' | 'truncate' }>;
interface Naming {
  readonly does: 'create' | 'unlink';
  readonly file: string;
}

const SECTOR_BYTES = 512;

/**
 * A disk that keeps what was synced, and of the rest what it likes. Contents reach it at a sync of their file. That a file
 * came or went reaches it at the next sync of anything, as on a journalling file system. What a sync that failed was to bring is
 * gone: Linux reports that once, and holds those pages for written. The worst is assumed, that nothing of it came.
 */
export class Disk {
  readonly #kept = new Map<string, Buffer>();
  readonly #waiting = new Map<string, Change[]>();
  #namings: Naming[] = [];

  take(operation: Operation): void {
    switch (operation.does) {
      case 'write':
      case 'truncate':
        this.#waiting.set(operation.file, [...(this.#waiting.get(operation.file) ?? []), operation]);
        return;
      case 'create':
      case 'unlink':
        this.#namings.push({ does: operation.does, file: operation.file });
        return;
      case 'sync':
      case 'sync-folder':
        for (const naming of this.#namings) this.#name(this.#kept, naming, true);
        this.#namings = [];
        if (operation.does === 'sync') {
          const changes = this.#waiting.get(operation.file) ?? [];
          this.#kept.set(
            operation.file,
            changes.reduce(changed, this.#kept.get(operation.file) ?? Buffer.alloc(0)),
          );
          this.#waiting.delete(operation.file);
        }
        return;
      case 'sync-fails':
        this.#waiting.delete(operation.file);
        return;
      case 'say':
        return;
    }
  }

  /** The files after the power has gone: what waits is there sector by sector, as chance has it. */
  lose(chance: Chance): Map<string, Buffer> {
    const files = new Map<string, Buffer>([...this.#kept].map(([file, bytes]) => [file, Buffer.from(bytes)]));
    // A file system commits names in order: some first ones of those that wait.
    const named = Math.floor(chance.uniform() * (this.#namings.length + 1));
    this.#namings.forEach((naming, index) => {
      if (index < named) this.#name(files, naming, false);
    });
    // Nothing of what waits, some of it, or nearly all.
    const share = [0, 0.5, 0.9][Math.floor(chance.uniform() * 3)]!;
    for (const [file, changes] of this.#waiting) {
      if (!files.has(file)) continue;
      let bytes: Buffer = files.get(file)!;
      for (const part of changes.flatMap(sectors)) if (chance.uniform() < share) bytes = changed(bytes, part);
      files.set(file, bytes);
    }
    return files;
  }

  #name(files: Map<string, Buffer>, { does, file }: Naming, isDurable: boolean): void {
    if (does === 'create') files.set(file, files.get(file) ?? Buffer.alloc(0));
    else files.delete(file);
    if (does === 'unlink' && isDurable) this.#waiting.delete(file);
  }
}

function changed(bytes: Buffer, change: Change): Buffer {
  if (change.does === 'truncate') {
    const cut = Buffer.alloc(change.length);
    bytes.copy(cut);
    return cut;
  }
  const end = change.at + change.bytes.length;
  const grown = end > bytes.length ? Buffer.concat([bytes, Buffer.alloc(end - bytes.length)]) : bytes;
  change.bytes.copy(grown, change.at);
  return grown;
}

/** A write in the pieces that a disk writes as a whole. */
function sectors(change: Change): Change[] {
  if (change.does === 'truncate') return [change];
  const parts: Change[] = [];
  for (let from = 0; from < change.bytes.length; ) {
    const at = change.at + from;
    const length = Math.min(SECTOR_BYTES - (at % SECTOR_BYTES), change.bytes.length - from);
    parts.push({ ...change, at, bytes: change.bytes.subarray(from, from + length) });
    from += length;
  }
  return parts;
}
