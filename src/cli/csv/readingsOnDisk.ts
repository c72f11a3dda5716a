import { closeSync, mkdtempSync, openSync, readSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Refusal } from '../../units/refusal.js';

/** A reading as it is sorted: by time, then by line. */
export interface SortedReading {
  readonly at: number;
  readonly probe: number;
  readonly celsius: number;
  readonly line: number;
}

/** Numbers a reading takes in a run. */
const WIDTH = 4;
const READ_ROWS = 4096;

/**
 * Sorts any number of readings in bounded memory: runs of `runRows` readings are sorted and put into files of a
 * temporary folder, which are then merged. Up to one run stays in memory alone.
 */
export class ReadingsOnDisk {
  private readonly rows: Float64Array;
  private count = 0;
  private folder: string | null = null;
  private readonly runs: number[] = [];

  constructor(private readonly runRows = 1 << 20) {
    this.rows = new Float64Array(runRows * WIDTH);
  }

  /** @throws {Refusal} when the temporary folder cannot hold them */
  add(at: number, probe: number, celsius: number, line: number): void {
    if (this.count === this.runRows) this.writeRun();
    const start = this.count * WIDTH;
    this.rows[start] = at;
    this.rows[start + 1] = probe;
    this.rows[start + 2] = celsius;
    this.rows[start + 3] = line;
    this.count += 1;
  }

  /** All of them in order, once. */
  *sorted(): Generator<SortedReading> {
    const heads: Run[] = [runInMemory(this.sortedRows()), ...this.runs.map((file) => runOnDisk(file))].filter(
      (run) => run.next(),
    );
    for (let index = (heads.length >>> 1) - 1; index >= 0; index -= 1) sink(heads, index);
    while (heads.length > 0) {
      const first = heads[0] as Run;
      yield first;
      if (!first.next()) {
        const last = heads.pop() as Run;
        if (heads.length === 0) return;
        if (last !== first) heads[0] = last;
      }
      sink(heads, 0);
    }
  }

  /** Removes what it put on the disk. */
  close(): void {
    for (const file of this.runs) closeSync(file);
    this.runs.length = 0;
    if (this.folder !== null) rmSync(this.folder, { recursive: true, force: true });
    this.folder = null;
  }

  private writeRun(): void {
    const bytes = new Uint8Array(this.sortedRows().buffer);
    try {
      this.folder ??= mkdtempSync(join(tmpdir(), 'stillwarm-sort-'));
      const file = openSync(join(this.folder, `${this.runs.length}`), 'w+');
      this.runs.push(file);
      for (let done = 0; done < bytes.length; ) done += writeSync(file, bytes, done);
    } catch (error) {
      const { code, message } = error as NodeJS.ErrnoException;
      throw new Refusal(
        `the readings are not in order of time and cannot be sorted in ${tmpdir()} (${code ?? message}); free ${WIDTH * 8} bytes a reading there, name another folder in TMPDIR, or sort the file by probe and time`,
      );
    }
    this.count = 0;
  }

  private sortedRows(): Float64Array {
    const { rows, count } = this;
    const order = new Uint32Array(count).map((_, index) => index);
    order.sort((a, b) => {
      const [i, j] = [a * WIDTH, b * WIDTH];
      return (rows[i] as number) - (rows[j] as number) || (rows[i + 3] as number) - (rows[j + 3] as number);
    });
    const sorted = new Float64Array(count * WIDTH);
    for (const [place, from] of order.entries())
      sorted.set(rows.subarray(from * WIDTH, (from + 1) * WIDTH), place * WIDTH);
    return sorted;
  }
}

/** A sorted run, standing at one of its readings once `next` was called. */
interface Run extends SortedReading {
  next(): boolean;
}

function run(fill: () => Float64Array): Run {
  let rows: Float64Array = new Float64Array(0);
  let start = 0;
  return {
    next() {
      start += WIDTH;
      if (start < rows.length) return true;
      rows = fill();
      start = 0;
      return rows.length > 0;
    },
    get at() {
      return rows[start] as number;
    },
    get probe() {
      return rows[start + 1] as number;
    },
    get celsius() {
      return rows[start + 2] as number;
    },
    get line() {
      return rows[start + 3] as number;
    },
  };
}

function runInMemory(rows: Float64Array): Run {
  const parts = [rows];
  return run(() => parts.pop() ?? new Float64Array(0));
}

function runOnDisk(file: number): Run {
  const buffer = new Float64Array(READ_ROWS * WIDTH);
  const bytes = new Uint8Array(buffer.buffer);
  let position = 0;
  return run(() => {
    let filled = 0;
    for (let got = -1; got !== 0 && filled < bytes.length; filled += got) {
      got = readSync(file, bytes, filled, bytes.length - filled, position + filled);
    }
    position += filled;
    return buffer.subarray(0, filled / 8);
  });
}

const isBefore = (a: SortedReading, b: SortedReading): boolean =>
  a.at - b.at < 0 || (a.at === b.at && a.line < b.line);

/** Restores the heap below a place whose head has grown. */
function sink(heap: Run[], place: number): void {
  for (let parent = place; ; ) {
    let child = 2 * parent + 1;
    if (child >= heap.length) return;
    if (child + 1 < heap.length && isBefore(heap[child + 1] as Run, heap[child] as Run)) child += 1;
    if (!isBefore(heap[child] as Run, heap[parent] as Run)) return;
    [heap[parent], heap[child]] = [heap[child] as Run, heap[parent] as Run];
    parent = child;
  }
}
