import type { CarrierState, SlotState } from '../../visit/probeStates.js';
import { day, SHAPES, signed } from '../probe/probeWords.js';
import { wrapped } from '../wrapped.js';

const CELL = 13;
const CELLS_A_ROW = 5;

/** What the words and figures in the boxes mean; below all pictures once. */
export const LEGEND: readonly string[] = [
  `${SHAPES.checked} checked in ice, ${SHAPES['as bought']} never; ${SHAPES['old check']} see its line; ${SHAPES['clone?']} clone?; ${SHAPES['no reading']} silent; . no probe`,
  'ice: what it reads too much, and since when; U: uncertainty (k = 2) there;',
  'lag: its time constant; last line: the cup, else the middle of its ROM id',
];

/**
 * A carrier as a picture: a box for each slot up to the last that has a probe or a cup, five in a row, 76 columns wide.
 *
 * @param textOf gives a name kept beside the facts, or says why it is not there
 */
export function carrierPicture(state: CarrierState, textOf: (ref: string) => string): string[] {
  const { map, slots, prewarmMinutes } = state;
  const lines = wrapped(heading(state, textOf)).split('\n');
  if (slots.length === 0)
    lines.push('no probe has a slot yet: `probe warm` finds which sits where, `probe assign` says it');
  const edge = (cells: number) => `+${Array.from({ length: cells }, () => '-'.repeat(CELL + 1)).join('+')}+`;
  for (let first = 0; first < slots.length; first += CELLS_A_ROW) {
    const row = slots.slice(first, first + CELLS_A_ROW).map(cellOf);
    // The row above is full, so its lower edge serves as the upper one of this.
    lines.push(edge(first === 0 ? row.length : CELLS_A_ROW));
    for (let line = 0; line < row[0]!.length; line += 1)
      lines.push(`|${row.map((cell) => ` ${fitted(cell[line]!)}`).join('|')}|`);
    if (first + CELLS_A_ROW >= slots.length) lines.push(edge(row.length));
  }
  lines.push(
    map === null
      ? 'places: not mapped, u_placement 0.289 °C (j)'
      : `places: mapped ${day(map.at)}, u_placement ${map.uncertainty.toFixed(3)} °C`,
  );
  if (prewarmMinutes !== null)
    lines.push(`pre-warm: its air warm for ${Math.ceil(prewarmMinutes)} min before the first cup`);
  return lines;
}

function heading({ carrier, board, bound, slots }: CarrierState, textOf: (ref: string) => string) {
  const probes = slots.filter(({ probe }) => probe !== null).length;
  const who = bound === null || bound.who === null ? '' : ` by ${textOf(bound.who)}`;
  const built =
    board === null
      ? 'no board known'
      : `board ${board}${bound === null ? '' : ` (paired ${day(bound.at)}${who})`}`;
  const last = slots.at(-1)?.slot;
  const where = last === undefined ? '' : last === 1 ? ', slot 1' : `, slots 1 to ${last}`;
  return `Carrier ${carrier}, ${built}: ${probes} ${probes === 1 ? 'probe' : 'probes'}${where}`;
}

const fitted = (text: string): string => [...text].slice(0, CELL).join('').padEnd(CELL);

/** Labels differ at their end. */
const ending = (label: string): string => {
  const room = CELL - 'cup '.length;
  return `cup ${label.length <= room ? label : `..${label.slice(2 - room)}`}`;
};

function cellOf({ slot, probe, cup }: SlotState): string[] {
  if (probe === null) return [`${slot}`, '. no probe', '', '', '', '', cup === null ? '' : ending(cup)];
  const { word, ice, lag, latest, rom, uncertainty } = probe;
  const reads =
    latest === null ? '-' : typeof latest.value === 'number' ? `${latest.value.toFixed(2)} °C` : 'unusable';
  return [
    `${slot}  ${reads}`,
    `${SHAPES[word]} ${word}`,
    ice === null ? 'no ice check' : `ice ${signed(ice.offset)} °C`,
    ice === null ? '' : `on ${day(ice.at)}`,
    `${uncertainty !== null && uncertainty < 100 ? `U ${uncertainty.toFixed(3)} °C` : 'U unknown'}`,
    lag === null ? 'no lag' : `lag ${Math.round(lag.tauSeconds)} s`,
    cup === null ? `..${rom.slice(3, 14)}` : ending(cup),
  ];
}
