import { describe, expect, it } from 'vitest';
import { numberedIn } from '../../src/store/chains.js';
import type { Fact } from '../../src/store/facts.js';
import { conflicts } from '../../src/visit/conflicts.js';
import { withdrawnWith } from '../../src/visit/countWithdrawal.js';
import { objection } from '../../src/visit/lifecycle.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  corrects,
  counts,
  label,
  minute,
  otherRom,
  overrules,
  recorded,
  rewashes,
  spoils,
  TURNED,
  withdraws,
} from './situation.js';

const COUNTED = [...TURNED, counts('c1', 190, { tray: 7 })];
const COUNT = 6;

const season = (...facts: Fact[]) => foldSeason(recorded(...facts));
const cup = (...facts: Fact[]) => season(...facts).cups.get(label('c1'))!;
const said = (before: Fact[], fact: Fact) => objection(season(...before), fact, minute(600));
/** The facts, each after it was found possible. */
function allowed(before: Fact[], ...facts: Fact[]): Fact[] {
  const known = [...before];
  for (const fact of facts) {
    expect(said(known, fact)).toBeNull();
    known.push(fact);
  }
  return known;
}
const numbers = (entries: readonly { readonly seq: number }[]) => entries.map(({ seq }) => seq);
const gone = (facts: Fact[], entry: number) => {
  const known = cup(...facts);
  return numbers(withdrawnWith(known, known.entries.find(({ seq }) => seq === entry)!));
};

describe('a count that is withdrawn', () => {
  it('is not read any more; the cup stays turned, and the number stays on record', () => {
    const known = cup(...allowed(COUNTED, withdraws('c1', COUNT)));
    expect(known.counts).toEqual({ tray: null, wash: null, bees: null });
    expect(known.turn).toBe(minute(181));
    expect(known.changes).toMatchObject([{ field: null, entry: { fact: { tray: 7 } } }]);
    // Negative control: without the withdrawal it is read.
    expect(cup(...COUNTED).counts.tray).toBe(7);
  });

  it('can be read anew, without a reason', () => {
    const facts = allowed(COUNTED, withdraws('c1', COUNT), counts('c1', 410, { tray: 2 }));
    expect(cup(...facts).counts.tray).toBe(2);
    expect(said(COUNTED, counts('c1', 410, { tray: 2 }))).toContain('was counted already');
  });

  it('takes all that was entered at once with it, and no more', () => {
    const facts = [...COUNTED, counts('c1', 300, { wash: 3, bees: 310 })];
    expect(cup(...allowed(facts, withdraws('c1', 7))).counts).toEqual({ tray: 7, wash: null, bees: null });
  });

  it('gives back the number before a correction', () => {
    const facts = [...COUNTED, corrects('c1', 200, 7, 9)];
    expect(cup(...facts).counts.tray).toBe(9);
    expect(cup(...allowed(facts, withdraws('c1', 7))).counts.tray).toBe(7);
  });

  it('takes corrections of it along, the newest first', () => {
    const facts = [
      ...COUNTED,
      corrects('c1', 200, 7, 9),
      counts('c1', 201, { wash: 1 }),
      corrects('c1', 202, 9, 8),
    ];
    expect(said(facts, withdraws('c1', COUNT))).toBe(
      'Entry 7 of cup c1 corrects this count; withdraw that first.',
    );
    const order = gone(facts, COUNT);
    expect(order).toEqual([9, 7, 6]);
    const after = allowed(facts, ...order.map((entry) => withdraws('c1', entry)));
    expect(cup(...after).counts).toEqual({ tray: null, wash: 1, bees: null });
    expect(gone(facts, 8)).toEqual([8]);
  });

  it('is refused as long as a further wash stands on it', () => {
    const washed = [...TURNED, counts('c1', 300, { wash: 3 }), rewashes('c1', 320, 2)];
    expect(said(washed, withdraws('c1', 6))).toBe(
      'Entry 7 of cup c1 is one more wash after this one; withdraw that first.',
    );
    expect(gone(washed, 6)).toEqual([6]);
    const after = allowed(washed, withdraws('c1', 7), withdraws('c1', 6));
    expect(cup(...after).washes).toEqual([]);
  });

  it('is refused when more mites than bees would be left', () => {
    const fact = corrects('c1', 200, 7, 3) as Extract<Fact, { type: 'count-corrected' }>;
    const facts = [...COUNTED, fact, counts('c1', 210, { bees: 5 })];
    expect(said(facts, withdraws('c1', 7))).toContain('Cup c1 would have more mites than bees');
  });

  it('is known to whoever read it: what is decided afterwards is marked so', () => {
    const withdrawn = [...COUNTED, withdraws('c1', COUNT, 200)];
    expect(cup(...withdrawn, overrules(210)).overruled?.afterCounts).toBe(true);
    expect(cup(...withdrawn, spoils('c1', 210)).spoiled?.afterCounts).toBe(true);
    expect(cup(...COUNTED, spoils('c1', 195), withdraws('c1', COUNT)).spoiled?.afterCounts).toBe(true);
    expect(said(withdrawn, assigns(1, otherRom, 100))).toContain('its mites are counted');
    // Negative control: a cup that nobody read, and one spoiled before it was read.
    expect(cup(...TURNED, overrules(210)).overruled?.afterCounts).toBe(false);
    const spoiledBefore = [...TURNED, spoils('c1', 185), counts('c1', 190, { tray: 7 })];
    expect(cup(...spoiledBefore).spoiled?.afterCounts).toBe(false);
    expect(cup(...spoiledBefore, withdraws('c1', 7)).spoiled?.afterCounts).toBe(false);
    expect(said(TURNED, assigns(1, otherRom, 100))).toBeNull();
  });

  it('no longer speaks against what another store has counted', () => {
    const ours = recorded(...COUNTED);
    const other = { seq: numberedIn(1, 9), recorded: minute(300), fact: counts('c1', 300, { tray: 8 }) };
    const withdrawal = { seq: 7, recorded: minute(400), fact: withdraws('c1', COUNT) };
    const told = (...more: (typeof other)[]) => conflicts([...ours, ...more], (chain) => String(chain));
    expect(told(other, withdrawal)).toEqual([]);
    expect(told(other).join()).toContain('The tray count of cup c1 is 7 in store 0 and 8 in store 1');
  });
});
