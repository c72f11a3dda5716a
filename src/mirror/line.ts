import { escape as escaped, InfluxDB } from 'influx';
import type { Point } from './points.js';

/** The client that the mirror sends with, for the way it writes values and times; this one is never connected. */
const client = new InfluxDB({ hosts: [] });

/** A point in line protocol, its time in milliseconds, letter for letter as the mirror sends it. */
export function lineOf(point: Point): string {
  const { measurement, tags, tagsNames, fieldsPairs, castedTimestamp } = client.parsePoint(point as Point, {
    // It asks for one, and writes nothing of it.
    database: 'none',
    precision: 'ms',
  });
  const tagged = tagsNames.map((name) => `,${escaped.tag(name)}=${escaped.tag(tags![name]!)}`).join('');
  const fields = fieldsPairs.map(([name, value]) => `${escaped.tag(name)}=${value}`).join(',');
  return `${measurement}${tagged} ${fields} ${castedTimestamp}`;
}
