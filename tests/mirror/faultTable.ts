import { readFileSync } from 'node:fs';
import type { Difference } from './onServer.js';

/** The fault table as docs/mirror.md prints it. */
const ROWS = readFileSync('docs/mirror.md', 'utf8')
  .split(/^## /m)
  .find((section) => section.startsWith('Fault table'))!
  .split('\n')
  .filter((line) => line.startsWith('| ') && !line.startsWith('| fault |'));
const faultOf = (row: string): string => row.split(' | ')[0]!.slice(2);

export const faultsInDocs = (): string[] => ROWS.map(faultOf);
/** The row of a fault; undefined when the docs have none. */
export const docsRow = (fault: string): string | undefined => ROWS.find((row) => faultOf(row) === fault);

const grouped = (count: number): string => String(count).replace(/\B(?=(\d{3})+$)/g, ',');

/** The row that what was found comes to. What is missing there is on record in one fact: the tests hold that. */
export function rowOf(fault: string, { stored, onServer, missing, strange, wrong }: Difference): string {
  const onRecord =
    missing === 0 ? ['', ''] : [`, and one fact for the other ${grouped(missing)}`, ', on record'];
  const twice = Math.max(0, onServer - (stored - missing)) + strange + wrong;
  const cells = [
    fault,
    grouped(stored),
    grouped(onServer) + onRecord[0],
    grouped(missing) + onRecord[1],
    grouped(twice),
  ];
  return `| ${cells.join(' | ')} |`;
}
