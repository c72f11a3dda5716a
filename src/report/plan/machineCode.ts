import JsBarcode from 'jsbarcode';
import { correction, generate } from 'lean-qr';
import { toSvgPath } from 'lean-qr/extras/svg';
import { Refusal } from '../../units/refusal.js';
import type { Html } from '../html.js';

/** What a scanner reads that types what it read, as a keyboard would. */
export type CodeKind = 'qr' | 'code128';

interface Symbology {
  readonly name: string;
  /** White to be left on each side, modules (ISO/IEC 18004 and 15417, from memory). */
  readonly quiet: number;
  /** A narrower module is not read by every scanner from every printer; judgement. */
  readonly moduleMm: number;
  /** The black of it as a path, a unit a module. */
  readonly draw: (text: string) => Drawn;
}

interface Drawn {
  readonly path: string;
  readonly wide: number;
  readonly high: number;
}

const SYMBOLOGIES: Readonly<Record<CodeKind, Symbology>> = {
  qr: { name: 'a QR code', quiet: 4, moduleMm: 0.33, draw: qrOf },
  code128: { name: 'a Code 128', quiet: 10, moduleMm: 0.25, draw: barsOf },
};

/** A quarter of the symbol may be soiled or torn and it is still read. */
function qrOf(text: string): Drawn {
  const code = generate(text, { minCorrectionLevel: correction.Q });
  return { path: toSvgPath(code), wide: code.size, high: code.size };
}

function barsOf(text: string): Drawn {
  const made: { readonly encodings?: readonly { readonly data: string }[] } = {};
  JsBarcode(made, text, { format: 'CODE128' });
  const modules = (made.encodings ?? []).map(({ data }) => data).join('');
  const bars = [...modules.matchAll(/1+/g)].map(
    ({ 0: bar, index }) => `M${index} 0h${bar.length}v1h-${bar.length}Z`,
  );
  return { path: bars.join(''), wide: modules.length, high: 1 };
}

export interface MachineCode {
  readonly svg: Html;
  /** With the white around it, millimetres. */
  readonly widthMm: number;
}

/** Larger modules are read no better. */
const MODULE_MM_MAX = 0.6;

/**
 * A text as a code that fits into so much room, as SVG with the white around it that a scanner needs.
 *
 * @param heightMm of the bars; a QR code is as high as it is wide
 * @throws {Refusal} when its modules would be too narrow to be read
 */
export function machineCode(kind: CodeKind, text: string, roomMm: number, heightMm: number): MachineCode {
  const { name, quiet, moduleMm, draw } = SYMBOLOGIES[kind];
  const { path, wide, high } = draw(text);
  const modules = wide + 2 * quiet;
  const module = Math.min(roomMm / modules, MODULE_MM_MAX);
  if (module < moduleMm)
    throw new Refusal(
      `${name} for ${text} needs ${(modules * moduleMm).toFixed(0)} mm, and the label has ${Math.max(0, roomMm).toFixed(0)} mm for it; take larger labels${kind === 'qr' ? '' : ', or --code qr'}.`,
    );
  const widthMm = modules * module;
  // Only bars are stretched; a QR code stays square.
  const [box, ratio, height] =
    kind === 'qr'
      ? [`${-quiet} ${-quiet} ${modules} ${modules}`, '', widthMm]
      : [`${-quiet} 0 ${modules} ${high}`, ' preserveAspectRatio="none"', heightMm];
  return {
    widthMm,
    svg: {
      markup: `<svg xmlns="http://www.w3.org/2000/svg" class="code" style="width:${mm(widthMm)}mm;height:${mm(height)}mm" viewBox="${box}"${ratio} aria-hidden="true"><path fill-rule="evenodd" d="${path}"/></svg>`,
    },
  };
}

/** A length for print, to a hundredth of a millimetre. */
export const mm = (value: number): number => Math.round(value * 100) / 100;
