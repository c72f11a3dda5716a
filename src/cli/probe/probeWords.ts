import { formatInstant, inMinutes, MS_PER_SECOND, type UtcMs } from '../../units/time.js';
import { dayIn, localZone } from '../../units/zone.js';
import type { IceChecked } from '../../visit/commissioned.js';
import type { CarrierState, ProbeState, ProbeWord } from '../../visit/probeStates.js';

/** A shape for each word, so that neither colour nor reading speed is needed to tell them apart. */
export const SHAPES: Readonly<Record<ProbeWord, string>> = {
  checked: '+',
  'as bought': 'o',
  'old check': '!',
  'other board': '!',
  'clone?': '?',
  'no reading': 'x',
};

export const day = (at: UtcMs): string => dayIn(at, localZone());
export const signed = (degrees: number, decimals = 3): string =>
  `${degrees < 0 ? '-' : '+'}${Math.abs(degrees).toFixed(decimals)}`;
export const placed = (place: ProbeState['place']): string =>
  place === null ? 'no slot' : `${place.carrier}:${place.slot}`;

/** What a probe reads, in a few words. */
export function readingInWords({ latest }: ProbeState): string {
  if (latest === null) return '-';
  return typeof latest.value === 'number' ? `${latest.value.toFixed(2)} °C` : latest.value.rejected;
}

/** One row a probe; 79 columns hold it. */
export const probeRow = (state: ProbeState): string[] => [
  placed(state.place),
  state.rom,
  readingInWords(state),
  `${SHAPES[state.word]} ${state.word}`,
  state.ice === null ? '-' : signed(state.ice.offset),
  state.lag === null ? '-' : `${Math.round(state.lag.tauSeconds)} s`,
];

/** What to print and keep with a probe: what its ice check found, when, on which board and by whom, in one line. */
export const certificate = (check: IceChecked, who: string): string =>
  `${check.rom} ice ${signed(check.offset)} °C u ${check.uncertainty.toFixed(3)} ${day(check.at)} board ${check.board} by ${who}`;

export const probeToJson = (state: ProbeState) => ({
  rom: state.rom,
  slot: state.place === null ? null : placed(state.place),
  board: state.board,
  celsius: state.latest !== null && typeof state.latest.value === 'number' ? state.latest.value : null,
  seconds: state.latest === null ? null : Math.round(state.latest.age / MS_PER_SECOND),
  problem:
    state.latest !== null && typeof state.latest.value !== 'number' ? state.latest.value.rejected : null,
  state: state.word,
  uncertainty: state.uncertainty,
  ice:
    state.ice === null
      ? null
      : {
          offset: state.ice.offset,
          uncertainty: state.ice.uncertainty,
          board: state.ice.board,
          at: formatInstant(state.ice.at),
        },
  lag:
    state.lag === null
      ? null
      : {
          tauSeconds: state.lag.tauSeconds,
          interval: [state.lag.lowSeconds, state.lag.highSeconds],
          at: formatInstant(state.lag.at),
        },
  cautions: state.cautions,
});

export const carrierToJson = ({ carrier, board, bound, map, slots, prewarmMinutes }: CarrierState) => ({
  carrier,
  board,
  paired: bound === null ? null : formatInstant(bound.at),
  placement: map === null ? null : { uncertainty: map.uncertainty, at: formatInstant(map.at) },
  prewarmMinutes,
  slots: slots.map(({ slot, probe, cup }) => ({
    slot,
    cup,
    probe: probe === null ? null : probeToJson(probe),
  })),
});

/** For how long ago, in words. */
export const ago = (age: Parameters<typeof inMinutes>[0]): string =>
  age < 120_000 ? `${Math.round(age / MS_PER_SECOND)} s ago` : `${Math.round(inMinutes(age))} min ago`;
