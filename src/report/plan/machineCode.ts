import bwip from 'bwip-js/node';
import { Refusal } from '../../units/refusal.js';
import type { Html } from '../html.js';

/** What a scanner reads that types what it read, as a keyboard would. */
export type CodeKind = 'qr' | 'code128';

interface Symbology {
  readonly name: string;
  /** How the library is told. */
  readonly options: { readonly bcid: string; readonly eclevel?: string; readonly height?: number };
  /** Units of the library's drawing to a module. */
  readonly unitsAModule: number;
  /** White to be left on each side, modules (ISO/IEC 18004 and 15417, from memory). */
  readonly quiet: number;
  /** A narrower module is not read by every scanner from every printer; judgement. */
  readonly moduleMm: number;
}

const SYMBOLOGIES: Readonly<Record<CodeKind, Symbology>> = {
  // A quarter of the symbol may be soiled or torn and it is still read.
  qr: {
    name: 'a QR code',
    options: { bcid: 'qrcode', eclevel: 'Q' },
    unitsAModule: 4,
    quiet: 4,
    moduleMm: 0.33,
  },
  code128: {
    name: 'a Code 128',
    options: { bcid: 'code128', height: 10 },
    unitsAModule: 2,
    quiet: 10,
    moduleMm: 0.25,
  },
};

export interface MachineCode {
  readonly svg: Html;
  /** With the white around it, millimetres. */
  readonly widthMm: number;
}

/**
 * A text as a code that fits into so much room, as SVG with the white around it that a scanner needs.
 *
 * @param heightMm of the bars; a QR code is as high as it is wide
 * @throws {Refusal} when its modules would be too narrow to be read
 */
export function machineCode(kind: CodeKind, text: string, roomMm: number, heightMm: number): MachineCode {
  const { name, options, unitsAModule, quiet, moduleMm } = SYMBOLOGIES[kind];
  const svg = bwip.toSVG({ ...options, text });
  const [, width = '', height = ''] = /viewBox="0 0 (\d+) (\d+)"/.exec(svg) ?? [];
  const drawing = svg.slice(svg.indexOf('\n') + 1, svg.lastIndexOf('</svg>'));
  if (width === '' || drawing === '')
    throw new Error('the drawing of a code has another shape than expected');
  const [wide, high] = [Number(width), Number(height)];
  const modules = wide / unitsAModule + 2 * quiet;
  const module = Math.min(roomMm / modules, MODULE_MM_MAX);
  if (module < moduleMm)
    throw new Refusal(
      `${name} for ${text} needs ${(modules * moduleMm).toFixed(0)} mm, and the label has ${Math.max(0, roomMm).toFixed(0)} mm for it; take larger labels${kind === 'qr' ? '' : ', or --code qr'}.`,
    );
  const margin = quiet * unitsAModule;
  const widthMm = modules * module;
  // Only bars are stretched; a QR code stays square.
  const [top, tall, ratio] =
    kind === 'qr' ? [margin, high + 2 * margin, ''] : [0, high, ' preserveAspectRatio="none"'];
  const heightOut = kind === 'qr' ? widthMm : heightMm;
  return {
    widthMm,
    svg: {
      // Without crisp edges: Chromium would draw the narrow bars as hairlines, and no decoder reads them.
      markup: `<svg xmlns="http://www.w3.org/2000/svg" class="code" style="width:${mm(widthMm)}mm;height:${mm(heightOut)}mm" viewBox="${-margin} ${-top} ${wide + 2 * margin} ${tall}"${ratio} aria-hidden="true">${drawing}</svg>`,
    },
  };
}

/** Larger ones are read no better. */
const MODULE_MM_MAX = 0.6;

const mm = (value: number): number => Math.round(value * 100) / 100;
