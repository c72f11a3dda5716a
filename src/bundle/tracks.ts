import type { StoredReading, Track } from '../store/store.js';

/** The usable readings that went into a bundle, or came out of it, kept for its reports. */
export interface Tracks {
  /** Takes readings that come probe by probe in order of time. */
  add(reading: StoredReading): void;
  /** As a store gives it. */
  track(probe: string, from: number, to: number): Track;
}

interface Columns {
  utc: Float64Array;
  raw: Float64Array;
  length: number;
}

const LENGTH_AT_FIRST = 1024;

export function tracks(): Tracks {
  const byProbe = new Map<string, Columns>();
  return {
    add({ rom, utc, raw, status }) {
      if (status !== 'ok' || raw === null) return;
      let of = byProbe.get(rom);
      if (of === undefined) {
        of = { utc: new Float64Array(LENGTH_AT_FIRST), raw: new Float64Array(LENGTH_AT_FIRST), length: 0 };
        byProbe.set(rom, of);
      }
      if (of.length === of.utc.length) {
        of.utc = grown(of.utc);
        of.raw = grown(of.raw);
      }
      of.utc[of.length] = utc;
      of.raw[of.length] = raw;
      of.length += 1;
    },
    track(probe, from, to) {
      const of = byProbe.get(probe);
      if (of === undefined) return { utc: new Float64Array(0), raw: new Float64Array(0) };
      const [start, end] = [firstWhere(of, (utc) => utc >= from), firstWhere(of, (utc) => utc > to)];
      return { utc: of.utc.subarray(start, end), raw: of.raw.subarray(start, end) };
    },
  };
}

function grown(column: Float64Array): Float64Array {
  const larger = new Float64Array(column.length * 2);
  larger.set(column);
  return larger;
}

/** The first place from which on `isThere` holds; the times grow. */
function firstWhere({ utc, length }: Columns, isThere: (utc: number) => boolean): number {
  let [low, high] = [0, length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isThere(utc[middle]!)) high = middle;
    else low = middle + 1;
  }
  return low;
}
