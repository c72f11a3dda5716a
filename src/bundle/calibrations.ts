import { seqOfNumber } from '../store/chains.js';
import type { Fact } from '../store/facts.js';
import type { UtcMs } from '../units/time.js';
import type { Row } from './column.js';
import { by, carrierCells, storeOfFact } from './rows.js';
import type { Source } from './source.js';

/** The probes that cups of a bundle were read by, and the carriers that they sat in. */
export interface Used {
  readonly probes: ReadonlySet<string>;
  readonly carriers: ReadonlySet<string>;
}

/** Whether a fact measures a probe or a carrier of those, or says where such a probe sits. */
export function concerns(fact: Fact, { probes, carriers }: Used): boolean {
  switch (fact.type) {
    case 'ice-checked':
    case 'lag-measured':
    case 'probe-assigned':
      return probes.has(fact.rom);
    case 'placement-mapped':
      return carriers.has(fact.carrier);
    case 'probes-found':
      return fact.probes.some(({ rom, uncertainty }) => probes.has(rom) && uncertainty !== undefined);
    default:
      return false;
  }
}

const NOTHING = {
  probe: null,
  carrier: null,
  slot: null,
  offset_celsius: null,
  uncertainty_celsius: null,
  standard_deviation_celsius: null,
  readings: null,
  tau_s: null,
  tau_low_s: null,
  tau_high_s: null,
  step_celsius: null,
} satisfies Row;

/** What was measured of what the cups used, withdrawn measurements too. */
export function calibrationRows(source: Source, used: Used): Row[] {
  const withdrawn = new Map<number, UtcMs>();
  for (const { fact } of source.facts)
    if (fact.type === 'measurement-withdrawn') withdrawn.set(fact.entry, fact.at);
  return source.facts
    .filter(({ fact }) => fact.type !== 'probe-assigned' && concerns(fact, used))
    .flatMap(({ seq, fact }) =>
      measured(fact, used).map((row) => ({
        ...row,
        store: storeOfFact(source, seq),
        fact: seqOfNumber(seq),
        at_utc: fact.at,
        withdrawn_utc: withdrawn.get(seq) ?? null,
      })),
    )
    .sort(by('at_utc', 'store', 'fact', 'probe', 'slot'));
}

function measured(fact: Fact, used: Used): Row[] {
  switch (fact.type) {
    case 'ice-checked':
      return [
        {
          ...NOTHING,
          what: fact.type,
          probe: fact.rom,
          board: fact.board,
          offset_celsius: fact.offset,
          uncertainty_celsius: fact.uncertainty,
          standard_deviation_celsius: fact.standardDeviation,
          readings: fact.readings,
        },
      ];
    case 'lag-measured':
      return [
        {
          ...NOTHING,
          what: fact.type,
          probe: fact.rom,
          board: fact.board,
          tau_s: fact.tauSeconds,
          tau_low_s: fact.lowSeconds,
          tau_high_s: fact.highSeconds,
          step_celsius: fact.stepCelsius,
        },
      ];
    case 'placement-mapped': {
      const map = {
        ...NOTHING,
        what: fact.type,
        carrier: carrierCells(fact.carrier).carrier,
        board: fact.board,
        uncertainty_celsius: fact.uncertainty,
      };
      return fact.places.length === 0
        ? [map]
        : fact.places.map(({ slot, rom, difference }) => ({
            ...map,
            probe: rom,
            slot,
            offset_celsius: difference,
          }));
    }
    case 'probes-found':
      return fact.probes.flatMap(({ rom, uncertainty }) =>
        uncertainty === undefined || !used.probes.has(rom)
          ? []
          : [
              {
                ...NOTHING,
                what: 'uncertainty-told',
                probe: rom,
                board: fact.board,
                uncertainty_celsius: uncertainty,
              },
            ],
      );
    default:
      return [];
  }
}
