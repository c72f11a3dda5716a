import { carrierAndStore, seqOfNumber } from '../store/chains.js';
import type { Fact, RecordedFact } from '../store/facts.js';
import type { CarrierId } from '../units/ids.js';
import { concerns, type Used } from './calibrations.js';
import type { Cell, Row } from './column.js';
import { storeOfFact } from './rows.js';
import { labelsOf, type Source } from './source.js';
import { CHANGES } from './tables.js';

type Change = Extract<Fact, { type: (typeof CHANGES)[number] }>;
interface Changed {
  readonly of?: number;
  readonly field?: Cell;
  readonly old?: Cell;
  readonly new?: Cell;
}

const CHANGING: ReadonlySet<string> = new Set(CHANGES);

/** What was changed by a person about the cups of the source, or about what was measured of what they used. */
export function correctionRows(source: Source, used: Used): Row[] {
  const labels = labelsOf(source);
  const byNumber = new Map(source.facts.map((each) => [each.seq, each.fact]));
  const isOurs = (fact: Fact): fact is Change => {
    if (!CHANGING.has(fact.type)) return false;
    if ('cup' in fact) return labels.has(fact.cup);
    const measured = 'entry' in fact ? byNumber.get(fact.entry) : undefined;
    return measured !== undefined && concerns(measured, used);
  };
  return source.facts.flatMap((each): Row[] => (isOurs(each.fact) ? [rowOf(source, each, each.fact)] : []));
}

function rowOf(source: Source, { seq, recorded }: RecordedFact, fact: Change): Row {
  const { of = null, ...changed } = changedBy(fact);
  return {
    store: storeOfFact(source, seq),
    fact: seqOfNumber(seq),
    cup: 'cup' in fact ? fact.cup : null,
    what: fact.type,
    of_store: of === null ? null : storeOfFact(source, of),
    of_fact: of === null ? null : seqOfNumber(of),
    field: changed.field ?? null,
    old: changed.old ?? null,
    new: changed.new ?? null,
    at_utc: fact.at,
    recorded_utc: recorded,
    who_ref: source.isPublic ? null : (fact.who ?? null),
    why_ref: source.isPublic ? null : fact.why,
  };
}

function changedBy(fact: Change): Changed {
  switch (fact.type) {
    case 'count-corrected':
      return {
        field: fact.washNumber === undefined ? fact.field : `wash ${fact.washNumber}`,
        old: String(fact.old),
        new: String(fact.new),
      };
    case 'entry-corrected': {
      const named = (value: string | number | null) =>
        value === null
          ? null
          : fact.field === 'carrier'
            ? carrierAndStore(String(value) as CarrierId).carrier
            : String(value);
      return { of: fact.entry, field: fact.field, old: named(fact.old), new: named(fact.new) };
    }
    case 'cup-overruled':
      return { field: 'ruling', new: fact.ruling };
    case 'entry-withdrawn':
    case 'measurement-withdrawn':
      return { of: fact.entry };
    case 'cup-spoiled':
      return {};
  }
}
