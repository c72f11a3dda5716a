import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { formatInstant } from '../../src/units/time.js';
import { objection } from '../../src/visit/lifecycle.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  closes,
  corrects,
  correctsEntry,
  counts,
  lifts,
  loads,
  minute,
  moves,
  opens,
  recorded,
  rewashes,
  rom,
  seats,
  spoils,
  turns,
  withdraws,
} from './situation.js';

const said = (before: Fact[], fact: Fact, nowMinute = 600) =>
  objection(foldSeason(recorded(...before)), fact, minute(nowMinute));

const loaded = [opens, loads('c1', 1)];
const seated = [...loaded, seats('c1', 1, 3)];
const lifted = [...seated, lifts('c1', 30)];
const turned = [...seated, turns('c1', 181)];
const moved = [...seated, moves('c1', 2, 60)];
const lateLift = [...turned, lifts('c1', 20)];
const washed = [...turned, counts('c1', 300, { wash: 3 })];
const time = (at: number) => formatInstant(minute(at));
const counted = [...turned, counts('c1', 190, { tray: 7 })];

describe('objection()', () => {
  it.each<[string, Fact[], Fact]>([
    ['the first cup of a visit', [opens], loads('c1', 1)],
    ['a loaded cup into a free slot', loaded, seats('c1', 1, 3)],
    ['a seated cup to a free slot', seated, moves('c1', 2, 60)],
    ['a seated cup out of its slot', seated, lifts('c1', 30)],
    ['a lifted cup into its old slot', lifted, seats('c1', 1, 40)],
    ['the turn of a seated cup', seated, turns('c1', 181)],
    ['the turn of a lifted cup', lifted, turns('c1', 181)],
    ['the turn of a cup that was never seated', loaded, turns('c1', 181)],
    ['a tray count after the turn', turned, counts('c1', 190, { tray: 7 })],
    ['a wash count days later', counted, counts('c1', 500, { wash: 3, bees: 300 })],
    ['a correction of what was read', counted, corrects('c1', 200, 7, 9)],
    ['a cup spoiled in mid-exposure', seated, spoils('c1', 50)],
    ['another probe from the next cup on', counted, assigns(1, rom, 185)],
    ['a slot after it was left', [...lifted, loads('c2', 4)], seats('c2', 1, 30)],
    ['a lift and a seat entered late, in between', lateLift, seats('c1', 1, 22)],
    ['a turn entered after what it comes before', lifted, turns('c1', 181)],
    ['a second wash', washed, rewashes('c1', 320, 2)],
    ['a time that was written down wrongly', turned, correctsEntry('c1', 3, 'at', time(3), time(5))],
    ['a slot that was written down wrongly', turned, correctsEntry('c1', 3, 'slot', 1, 4)],
    ['a lift that did not happen', lifted, withdraws('c1', 4)],
    ['a count of another cup', counted, withdraws('c1', 5)],
    ['a colony that was forgotten', turned, correctsEntry('c1', 2, 'colony', null, '7')],
    ['the close of a visit whose cups are all turned', turned, closes(200)],
    ['the close of a visit whose cup was spoiled', [...seated, spoils('c1', 50)], closes(200)],
  ])('lets pass: %s', (_name, before, fact) => {
    expect(said(before, fact)).toBeNull();
  });

  it.each<[string, Fact[], Fact, string]>([
    ['a visit opened twice', [opens], opens, 'exists already'],
    ['a cup of no visit', [], loads('c1', 1), 'There is no visit v1; open one first'],
    ['a label used before', loaded, loads('c1', 5), 'used once for ever'],
    ['a cup loaded before its visit', [opens], loads('c1', -5), 'cannot be loaded before that'],
    ['a cup for a closed visit', [...turned, closes(200)], loads('c2', 210), 'is closed'],
    ['a cup nobody loaded', [opens], seats('c9', 1, 3), 'There is no cup c9'],
    ['a seated cup seated again', seated, seats('c1', 2, 5), 'sits in A:1 already'],
    ['a slot that is taken', [...seated, loads('c2', 4)], seats('c2', 1, 6), 'Slot A:1 holds cup c1'],
    ['a move of a cup in no slot', lifted, moves('c1', 2, 40), 'use seat'],
    ['a move to where it is', seated, moves('c1', 1, 40), 'is in A:1 already'],
    ['a lift of a cup in no slot', loaded, lifts('c1', 5), 'is in no slot'],
    ['a second turn', turned, turns('c1', 190), 'Cup c1 was turned at 2026-05-12T15:01:00+00:00 already'],
    ['a seat after the turn', turned, seats('c1', 2, 190), 'its exposure is over'],
    ['an event before the load', lifted, seats('c1', 1, 0.5), 'loaded at 2026-05-12T12:01:00+00:00'],
    ['a seat while it sat elsewhere', lifted, seats('c1', 2, 20), 'sits in A:1 already'],
    ['a late lift that leaves a move hanging', moved, lifts('c1', 40), 'Then what is on record for'],
    ['a late turn before a move', moved, turns('c1', 40), 'Then what is on record for'],
    ['a count before a turn entered late', turned, counts('c1', 100, { tray: 7 }), 'was turned at'],
    ['a further wash before the first', turned, rewashes('c1', 190, 2), 'The first wash of cup c1'],
    ['an entry that is not there', turned, correctsEntry('c1', 99, 'slot', 1, 4), 'has no entry 99'],
    ['a field that an entry has not', turned, correctsEntry('c1', 4, 'slot', 1, 4), 'has no slot to correct'],
    ['a correction of another value', turned, correctsEntry('c1', 3, 'slot', 2, 4), 'is 1, not 2'],
    ['a slot that is no slot', turned, correctsEntry('c1', 3, 'slot', 1, 99), 'cannot be the slot'],
    ['no time at all', turned, correctsEntry('c1', 3, 'at', time(3), 'noon'), 'cannot be the at'],
    [
      'a time before the visit',
      turned,
      correctsEntry('c1', 2, 'at', time(1), time(-4)),
      'Visit v1 was opened',
    ],
    ['a corrected time to come', turned, correctsEntry('c1', 4, 'at', time(181), time(700)), 'in the future'],
    [
      'a turn before the seat',
      turned,
      correctsEntry('c1', 4, 'at', time(181), time(2)),
      'its exposure is over',
    ],
    [
      'a slot that another cup had then',
      [...turned, loads('c2', 4), seats('c2', 2, 6)],
      correctsEntry('c1', 3, 'slot', 1, 2),
      'Slot A:2 holds cup c2 then',
    ],
    ['the load withdrawn', turned, withdraws('c1', 2), 'cannot be withdrawn'],
    ['a turn withdrawn after the count', counted, withdraws('c1', 4), 'had not been turned by'],
    ['a count before the turn', seated, counts('c1', 100, { tray: 7 }), 'turn it before counting'],
    ['a count of nothing', turned, counts('c1', 190, {}), 'at least one count'],
    [
      'a silent change of a count',
      counted,
      counts('c1', 200, { tray: 9 }),
      'The tray of cup c1 was counted already',
    ],
    [
      'a correction of what was not read',
      counted,
      corrects('c1', 200, 8, 9),
      'is another than the one to be corrected',
    ],
    ['a slot that was taken then', [...lifted, loads('c2', 4)], seats('c2', 1, 20), 'holds cup c1 then'],
    [
      'a carrier in other letters',
      [...loaded, assigns(1)],
      { ...seats('c1', 1, 3), carrier: 'a' } as Fact,
      'did you mean A?',
    ],
    [
      'more mites than bees',
      turned,
      counts('c1', 190, { tray: 200, wash: 150, bees: 300 }),
      'more mites than bees',
    ],
    ['too few bees later', counted, counts('c1', 200, { bees: 6 }), 'more mites than bees'],
    [
      'a correction to more mites than bees',
      [...counted, counts('c1', 195, { bees: 9 })],
      corrects('c1', 200, 7, 10),
      'more mites than bees',
    ],
    ['a count no cup can have', turned, counts('c1', 190, { wash: 10_001 }), 'no cup holds more than 10000'],
    [
      'another probe after the counts',
      counted,
      assigns(1, rom, 100),
      'its mites are counted; give a later time',
    ],
    ['a second spoiling', [...seated, spoils('c1', 50)], spoils('c1', 60), 'already marked'],
    ['the close of a visit with a cup still exposed', seated, closes(200), '1 cup to turn (c1)'],
    ['a second close', [...turned, closes(200)], closes(210), 'is closed already'],
    ['the future', loaded, seats('c1', 1, 602), 'is in the future'],
  ])('refuses %s', (_name, before, fact, sentence) => {
    expect(said(before, fact)).toContain(sentence);
  });

  it.each<[string, Fact]>([
    ['counted again', counts('c1', 200, { tray: 9 })],
    ['corrected by whom another came before', corrects('c1', 200, 8, 9)],
    ['counted with too few bees', counts('c1', 200, { bees: 6 })],
    ['corrected to more than the bees', corrects('c1', 200, 7, 400)],
  ])('tells nobody what was counted when it is %s', (_name, fact) => {
    const sentence = said([...counted, counts('c1', 195, { wash: 31, bees: 311 })], fact);
    expect(sentence).toMatch(/counted already|another than|more mites than bees/);
    // Tray 7, wash 31, 38 mites, 311 bees.
    expect(sentence).not.toMatch(/\b(7|31|38|311)\b/);
  });

  it('gives times in the zone of the yard', () => {
    const away = { ...opens, zone: 'Etc/GMT+5' } as Fact;
    // 12:01 UTC is 07:01 five hours behind: plain arithmetic
    expect(said([away, loads('c1', 1), turns('c1', 181)], turns('c1', 190))).toContain(
      '2026-05-12T10:01:00-05:00',
    );
    const told = objection(
      foldSeason(recorded(away, loads('c1', 1))),
      turns('c1', 0.5),
      minute(600),
      (at, zone) => `<${at} ${zone}>`,
    );
    expect(told).toBe(
      `Cup c1 was loaded at <${minute(1)} Etc/GMT+5>, after <${minute(0.5)} Etc/GMT+5>; check the time.`,
    );
  });
});
