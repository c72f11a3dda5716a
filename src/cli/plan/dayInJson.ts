import type { Day, DayQuestion } from '../../plan/day.js';
import { whatFits } from '../../plan/whatFits.js';
import { formatInstant } from '../../units/time.js';
import { clashSentences, type Telling } from './dayInWords.js';

/** The day for programs. */
export function dayToJson(found: Day, question: DayQuestion, telling: Telling) {
  const { day, zone, labels } = telling;
  const { rules, slots } = question;
  return {
    ...{ day, zone, rules: { name: rules.name, version: rules.version } },
    slots: slots.map(({ carrier, slot }) => `${carrier}:${slot}`),
    fits: found.fits,
    end: formatInstant(found.end),
    steps: found.steps.map(({ does, from, to, yard, place, cups }) => ({
      ...{ does, from: formatInstant(from), to: formatInstant(to), yard: yard.yard, cups },
      ...{ at: place.yard.yard, onTheWay: place.isOnTheWay },
    })),
    cups: found.cups.map(({ yard, number, cup, slot, load, due, from, to, turn }, index) => ({
      ...{ visit: yard.visit, yard: yard.yard, number, cup: labels?.[index] ?? null, ...cup },
      ...{ slot: `${slot.carrier}:${slot.slot}`, load: formatInstant(load), due: formatInstant(due) },
      ...{ from: formatInstant(from), to: formatInstant(to), turn: formatInstant(turn) },
    })),
    clashes: found.clashes.map((clash) => clash.about),
    sentences: clashSentences(found, question, telling),
    whatFits: found.fits ? null : fitsToJson(question),
  };
}

function fitsToJson(question: DayQuestion) {
  const { yards, yardsEnd, cupsAYard } = whatFits(question);
  return { yards, yardsEnd: yardsEnd === null ? null : formatInstant(yardsEnd), cupsAYard };
}
