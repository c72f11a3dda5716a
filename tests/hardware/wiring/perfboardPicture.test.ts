import { describe, expect, it } from 'vitest';
import { text } from '../../../hardware/wiring/drawing.js';
import { jointTable } from '../../../hardware/wiring/joints.js';
import { checkPerfboardPicture, perfboardPicture } from '../../../hardware/wiring/perfboardPicture.js';
import { level, turned } from '../../../hardware/wiring/perfboardView.js';
import { endOf, holeName, pinsOf } from '../../../hardware/wiring/placement.js';
import { checkPlacement } from '../../../hardware/wiring/placementChecks.js';
import { CARRIER, changed } from './files.js';
import { moved, PERFBOARD } from './perfboard.js';

// `npm run drawings` writes both; without -u these compare.
it('`perfboard.svg` shows the placement', async () => {
  await expect(perfboardPicture(CARRIER, PERFBOARD)).toMatchFileSnapshot(
    '../../../hardware/wiring/perfboard.svg',
  );
});

it('`perfboard.md` tells the placement', async () => {
  await expect(jointTable(CARRIER, PERFBOARD)).toMatchFileSnapshot('../../../hardware/wiring/perfboard.md');
});

it('`jointTable()` lists every joint of every net, with its hole', () => {
  const table = jointTable(CARRIER, PERFBOARD);
  for (const pin of PERFBOARD.parts.flatMap(pinsOf).filter((each) => each.pin !== null))
    expect(table).toContain(`${holeName(pin.hole)} (${endOf(pin)})`);
  const elsewhere = /^Not on this board: (.+)\.$/m.exec(table)?.[1]?.split(', ') ?? [];
  for (const { name } of CARRIER.nets)
    expect([name, elsewhere.includes(name)]).toEqual([name, !table.includes(`\n| ${name} | `)]);
});

describe('`perfboardPicture()`', () => {
  const svg = perfboardPicture(CARRIER, PERFBOARD);

  it('is black on white, A4', () => {
    expect(svg).toContain('width="210mm" height="297mm"');
    expect([...new Set(svg.match(/(?:fill|stroke)="#?\w+"/g))].sort()).toEqual([
      'fill="#000"',
      'fill="#fff"',
      'fill="none"',
      'stroke="#000"',
      'stroke="none"',
    ]);
  });

  it('draws every part from both sides, and every wire', () => {
    for (const { ref } of PERFBOARD.parts)
      expect(svg.match(new RegExp(`data-part="${ref}"`, 'g'))).toHaveLength(2);
    for (const { net, holes } of PERFBOARD.runs)
      expect(svg).toContain(`data-net="${net}" data-holes="${holes.map(holeName).join(' ')}"`);
  });

  it('has letters of at least 2.3 mm', () => {
    const sizes = [...svg.matchAll(/font-size="([\d.]+)"/g)].map(([, size]) => Number(size));
    expect(Math.min(...sizes)).toBeGreaterThanOrEqual(2.3); // readable in print: judgement
  });
});

describe('`checkPerfboardPicture()`', () => {
  it('finds nothing wrong with the picture', () => {
    expect(checkPerfboardPicture(CARRIER, PERFBOARD)).toEqual([]);
  });

  it.each([
    ['a text on a pin', level(text('Words', [148.9, 43.5], 2.5)), '"Words" lies on a pin of X2'],
    ['a text on a wire', turned(text('Words', [73.2, 240], 2.5)), '"Words" lies on a wire of 5V'],
    [
      'a text on another',
      level(text('Words', [40, 160], 2.5)),
      '"From below, as you hold it to solder: the wires. Column 1 is on the right now." lies on "Words"',
    ],
    [
      'a text across the edge of the board',
      level(text('Words', [24.5, 60], 2.5)),
      '"Words" lies on the edge of the board',
    ],
  ])('finds %s', (_what, words, sentence) => {
    expect(checkPerfboardPicture(CARRIER, PERFBOARD, [words])).toContain(sentence);
  });

  it('finds a net that has no room for its name', () => {
    const name = 'A_NET_WHOSE_NAME_IS_LONGER_THAN_ANY_PLACE_BESIDE_ITS_WIRE';
    const netlist = changed(['net 5V_PLUG: ', `net ${name}: `]);
    const placement = moved(['bare 5V_PLUG ', `bare ${name} `]);
    expect(checkPlacement(netlist, placement)).toEqual([]);
    expect(checkPerfboardPicture(netlist, placement).join('\n')).toContain(`"${name}" lies on`);
  });
});
