import { describe, expect, it } from 'vitest';
import { makeDrawing, type Text } from '../../../hardware/wiring/drawing.js';
import { type Layout, layoutOf } from '../../../hardware/wiring/layout.js';
import type { Netlist } from '../../../hardware/wiring/netlist.js';
import { frameTexts, wiringPicture } from '../../../hardware/wiring/picture.js';
import { checkPicture } from '../../../hardware/wiring/pictureChecks.js';
import { CARRIER, changed } from './files.js';

const check = (netlist: Netlist, layout: Layout, more: readonly Text[] = []) =>
  checkPicture(netlist, makeDrawing(netlist, layout), [...frameTexts(netlist), ...more]);

/** The carrier's layout with the routes of one net replaced. */
function routed(net: string, ...routes: readonly string[]): Layout {
  const layout = layoutOf(10);
  return { ...layout, wires: layout.wires.map((wires) => (wires.net === net ? { net, routes } : wires)) };
}

// `npm run drawings` writes the picture; without -u this compares it.
it('`wiring.svg` shows the netlist', async () => {
  await expect(wiringPicture(CARRIER)).toMatchFileSnapshot('../../../hardware/wiring/wiring.svg');
});

describe('`wiringPicture()`', () => {
  const svg = wiringPicture(CARRIER);

  it('has a wire for every net and a shape for every part', () => {
    for (const { name } of CARRIER.nets) expect(svg).toContain(`data-net="${name}"`);
    for (const { ref } of CARRIER.parts) expect(svg).toContain(`data-part="${ref}"`);
  });

  it('is black on white, A4', () => {
    expect(svg).toContain('width="297mm" height="210mm"');
    expect([...new Set(svg.match(/(?:fill|stroke)="#?\w+"/g))].sort()).toEqual([
      'fill="#000"',
      'fill="#fff"',
      'fill="none"',
      'stroke="#000"',
    ]);
  });
});

describe('`checkPicture()`', () => {
  it.each([1, 3, 10, 12, 16])('finds nothing wrong with %d slots', (slots) => {
    const netlist = changed(['slots 10', `slots ${slots}`]);
    expect(check(netlist, layoutOf(slots))).toEqual([]);
  });

  it.each([
    ['a wire left out', routed('LED'), 'U1.PD5 is not drawn joined to LED'],
    [
      'a wire to another pin',
      routed('LED_A', 'R4.2 x150 L1.A', 'U1.PD4 x164 S1.1'),
      'a wire of LED_A is drawn to U1.PD4, which is not of it',
    ],
    [
      'two wires that touch',
      routed('VBAT', 'U3.VBAT x230 BT1.+', '220,102 y104 x218'),
      'wires of VBAT and GND touch at 218,104',
    ],
    [
      'a wire through a part',
      routed('USB_D-', 'H1.D- x100 y60 x86 U1.D-'),
      'a wire of USB_D- runs through U1',
    ],
    [
      'a wire through a name',
      routed('USB_D-', 'H1.D- x200 y25 x86 U1.D-'),
      'a wire of USB_D- runs through "USB_D+"',
    ],
  ])('finds %s', (_what, layout, sentence) => {
    expect(check(CARRIER, layout).join('\n')).toContain(sentence);
  });

  it('finds texts that overlap, lie on a part, or hang off the page', () => {
    const at = (x: number, y: number): Text => ({
      words: 'Words',
      x,
      y,
      size: 3,
      anchor: 'start',
      isBold: false,
      of: null,
    });
    expect(check(CARRIER, layoutOf(10), [at(24, 80), at(26, 81)])).toEqual(['"Words" and "Words" overlap']);
    expect(check(CARRIER, layoutOf(10), [at(80, 112)])).toEqual(['"Words" lies on U1']);
    expect(check(CARRIER, layoutOf(10), [at(290, 205)])).toEqual([
      '"Words" is too near the edge of the page',
    ]);
  });

  it('finds what the netlist has and the picture has not, and the other way round', () => {
    const more = changed([
      'net GND: ',
      'part R9 | resistor | 1 kOhm | 1 2 | box\nnet NEW: R9.1 R9.2\nnet GND: ',
    ]);
    expect(check(more, layoutOf(10))).toEqual(['R9.1 is not in the picture', 'R9.2 is not in the picture']);
    const layout = layoutOf(10);
    const stray = { ...layout, wires: [...layout.wires, { net: 'STRAY', routes: ['10,60 x12'] }] };
    expect(check(CARRIER, stray)).toEqual(['the picture has wires of STRAY, the netlist has not']);
  });
});

describe('`makeDrawing()`', () => {
  it('refuses a step that is neither across nor down', () => {
    expect(() => makeDrawing(CARRIER, routed('LED', 'U1.PD5 R5.1'))).toThrow(
      'neither straight across nor straight down',
    );
    expect(() => makeDrawing(CARRIER, routed('LED', 'U1.PD9 x10'))).toThrow('neither a placed pin nor x,y');
  });
});
