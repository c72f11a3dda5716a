import type { Words } from './words.js';

const count = (number: number, one: string, several: string): string =>
  `${number} ${number === 1 ? one : several}`;

const list = (items: readonly string[]): string =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;

const part = (yard: string, arm: string | null): string =>
  arm === null ? `Yard ${yard}` : `Yard ${yard}, ${arm}`;

export const ENGLISH: Words = {
  locale: 'en-GB',
  list,
  title: 'Your strip test: what we found',
  yard: (yard, day) => `Yard ${yard}, ${day}`,
  arm: ({ active, lot }) =>
    [active, lot === null ? null : `lot ${lot}`].filter((part) => part !== null).join(', '),
  part,

  tested: {
    head: 'What was tested',
    how: (minutes) =>
      `Bees from your hives are kept for ${minutes} minutes in cups with a small piece of new strip, and a sensor tells how warm they stay. The mites that fall are counted. Then the bees are washed, and the mites still on them are counted too.`,
    yard: ({ strip, noStrip, colonies, arms }) =>
      [
        `${count(strip, 'cup', 'cups')} with a strip`,
        arms.length === 0 ? '' : ` (${list(arms)})`,
        noStrip === 0 ? '' : ` and ${count(noStrip, 'cup', 'cups')} without one`,
        colonies === 0 ? '' : `, from ${count(colonies, 'hive', 'hives')}`,
        '.',
      ].join(''),
  },

  found: {
    head: 'What was found',
    verdict: (verdict, line) =>
      ({
        'above-line': `above the ${line} line`,
        'below-line': `below the ${line} line`,
        undecided: `not yet clear against the ${line} line`,
        'too-few': `too few cups or mites to judge against the ${line} line`,
      })[verdict],
    range: (low, high, best) => `Between ${low} and ${high} of 100 mites fell. The best guess is ${best}.`,
    noRange: (best) => `About ${best} of 100 mites fell. There is too little here to give a range.`,
    noStrip: 'No cup had a strip, so nothing can be said of one.',
    noMites: 'The cups that count held no mites. So this test says nothing about the strip.',
    nothingCounts: 'No cup with a strip is left that counts. So this test says nothing about the strip.',
    line: (line) => `A good strip brings down ${line} of the mites or more: that is common practice.`,
    moreCups: (cups) =>
      cups === null
        ? 'Even many more cups may not settle it.'
        : `About ${count(cups, 'more cup', 'more cups')} would most likely settle it.`,
    withLeftOut: (verdict, low, high) =>
      `With the cups we left out: ${verdict}${low === null ? '' : `, between ${low} and ${high} of 100`}.`,
    byPerson: (when, verdict) =>
      ({
        before: `A person changed what counts before the mites were known. Without that change: ${verdict}.`,
        after: `A person changed what counts after the mites were known. Without that change: ${verdict}.`,
        both: `A person changed what counts, in part after the mites were known. Without those changes: ${verdict}.`,
      })[when],
    corrected: (counts, verdict) =>
      `${counts === 1 ? '1 mite count was corrected after it was' : `${counts} mite counts were corrected after they were`} first entered. As first entered: ${verdict}.`,
    withoutEither: (verdict) => `Without either: ${verdict}.`,
    cool: (cool, of) => `${cool} of ${of} cups were cool. A strip may do less in a cool cup.`,
    picture: 'The dot is the best guess, the bar is the range.',
    sure: (right, of) => `In ${right} of ${of} such tests the true share lies in the range.`,
    looks: (looks, right, of) =>
      `More cups came on top of the plan, maybe after a look at the result. For ${looks} looks the range is made wider: in ${right} of ${of} such tests the true share lies in it.`,
    lineLabel: (line) => `${line} line`,
    axis: 'of 100 mites',
    noEstimate: 'no result',
  },

  colonies: {
    head: 'Mites on 100 bees, hive by hive',
    how: (right, of) =>
      `Each dot is one hive, the thin line its range, right in ${right} of ${of} such counts. Cups that are left out below count here too.`,
    axis: 'mites on 100 bees',
    none: 'No bees were counted, so this is not known.',
    alt: (colony, per100) => `${colony}: ${per100}`,
    noColony: (cup) => `cup ${cup}`,
    actionLevel: (level, source, date) =>
      `The dashed line is your own level, ${level} on 100 bees (${source}, ${date}).`,
  },

  leftOut: {
    head: 'What was left out, and why',
    none: 'No cup was left out.',
    because: (cups, why, names) =>
      `${count(cups, 'cup', 'cups')} ${
        {
          cold: 'got too cold for the strip to work',
          hot: 'got too hot, and heat alone makes mites fall',
          short: cups === 1 ? 'was ended too soon' : 'were ended too soon',
          long: cups === 1 ? 'was ended too late' : 'were ended too late',
          unproven:
            cups === 1 ? 'was not watched well enough to trust' : 'were not watched well enough to trust',
          spoiled: cups === 1 ? 'was spoiled by a mishap' : 'were spoiled by a mishap',
          person: cups === 1 ? 'was set aside by a person' : 'were set aside by a person',
          unread: cups === 1 ? 'was not fully counted' : 'were not fully counted',
          empty: 'had no mites',
        }[why]
      } (${names}).`,
    byWarmth: (isPersonHeard) =>
      `${isPersonHeard ? 'But for what a person changed, warm' : 'Warm'} or cold was judged by the sensor and the clock alone, not by the mites.`,
  },

  reasons: {
    head: 'If the result is below the line',
    intro: 'Mites that no longer die of it are one cause. Others:',
    items: (lots, { cool, of }) => [
      'Strips are in these hives now, or were of late: the weak mites are gone.',
      `The strips were old, or kept too warm, or the whole lot${lots.length === 0 ? '' : ` (${list(lots)})`} is weak.`,
      ...(cool === 0 ? [] : [`${cool} of ${of} cups were cool.`]),
      'Few mites: then chance plays a big part.',
    ],
  },
  limits: {
    head: 'What this test cannot tell',
    text: 'A cup is not a hive. A good result in a cup does not promise that a treatment works in the hive. Brood, weather, and how strips are placed count there too.',
  },
  again: {
    head: 'When to test again',
    text: 'Test before you count on this kind of strip again, and with each new lot. Take the sample when no strips are in the hive.',
    moreCups: 'Where the result is not clear yet, test more cups from more hives.',
    lacks: {
      cold: 'Where cups got too cold, test again with cups that are kept warm.',
      hot: 'Where cups got too hot, test again with cups that are kept out of the heat.',
      short: 'Where cups were ended too soon, test again and give them their full time.',
      long: 'Where cups were ended too late, test again and end them on time.',
      unproven: 'Where cups were not watched well enough, have the sensors checked, then test again.',
      spoiled: 'Where cups were spoiled, test again with new ones.',
      person: 'Where a person set cups aside, test again with new ones.',
      unread: 'Where cups were not counted, have them counted, or test again if they are gone.',
      cups: 'Where only a few cups were taken, test again with more of them.',
      hives: 'Where all cups came from one hive, take the next ones from more hives.',
      mites: 'Where mites were too few, wait until the hives have more.',
    },
  },
  cautions: {
    head: 'Before you act',
    text: 'The label of the product comes first, then the rules where you live. Talk to your local bee adviser before you treat. This page does not tell you to treat, or not to treat.',
  },

  waiting: {
    title: 'Your strip test: not finished yet',
    head: (step) =>
      ({
        load: 'Not finished: no cup has been filled yet',
        turn: 'Not finished: the test is still running',
        tray: 'Not finished: the trays are still to be counted',
        wash: 'Not finished: the wash is still to come',
      })[step],
    note: (step) =>
      `${
        {
          load: 'There are no cups yet.',
          turn: 'Some bees are still with the strip.',
          tray: 'Not all mites on the trays are counted yet.',
          wash: 'Today only the mites on the trays could be counted.',
        }[step]
      } How well the strip worked nobody can say before the bees are washed: the mites that stayed on them are not known yet. So this page gives no result for the cups below.`,
    count: (done, of) => `${done} of ${count(of, 'cup is', 'cups are')} done.`,
    cup: 'cup',
    colony: 'hive',
    tray: 'mites on tray',
    next: 'still to do',
    steps: { turn: 'end the test', tray: 'count tray, wash', wash: 'wash', none: 'done' },
  },

  message: {
    head: 'To send as a text message',
    range: (yard, low, high, verdict) =>
      `${yard}: ${low} to ${high} of 100 mites fell, ${verdict}. A cup test only; label first.`,
    noRange: (yard, verdict) => `${yard}: ${verdict}. A cup test only; label first.`,
    noStrip: (yard) => `${yard}: no cup had a strip, so no result.`,
    waiting: (yard, step) =>
      `${yard}: ${
        {
          load: 'no cup has been filled yet',
          turn: 'the test is still running',
          tray: 'the trays are still to be counted',
          wash: 'the count is not finished, the wash is still to come',
        }[step]
      }. No result before that.`,
  },

  foot: {
    made: (when, version) => `Made ${when} by stillwarm ${version}.`,
    rules: (name, version) => `Rule set ${name} ${version}.`,
    chain: (store, facts, hash) => `Record ${store}: ${facts} facts, head ${hash}.`,
  },
};
