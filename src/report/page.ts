import { type Html, html, type Part } from './html.js';
import { PALETTE, PAPER } from './palette.js';

/**
 * How wide a page's content is, CSS pixels at 96 to the inch: what A4 (210 mm) and Letter (216 mm) both hold between
 * their margins, so that nothing is cut off in print. A drawing is at most so wide.
 */
export const CONTENT_WIDTH = 710;

/** A whole page. */
export interface Page {
  /** Language of its words, as HTML has it: `en`. */
  readonly language: string;
  readonly title: string;
  readonly body: Html;
  /** Stands small at the end: versions, the chain. */
  readonly foot?: Part;
  /** Sets the text small, for a page that must fit one sheet or has wide tables. */
  readonly isDense?: boolean;
  /** Further rules of style for this page alone; ours, never a text that a person typed. */
  readonly style?: string;
}

/** By this a page of ours is known, and may be written over by a newer one. */
export const GENERATOR = '<meta name="generator" content="stillwarm">';

/**
 * A page as one file: it asks nothing of any network, and the browser is told to refuse it if it did. Without a script
 * and without a picture file; drawings are SVG in its text. Made to be read on a screen and printed on A4 or Letter. A
 * number and its percent sign stay on one line.
 */
export function page({ language, title, body, foot, isDense, style }: Page): string {
  const { markup } = html`<title>${title}</title>
</head>
<body${isDense ? html` class="dense"` : null}>
<main>
${body}
</main>
${foot === undefined ? null : html`<footer>${foot}</footer>\n`}</body>
</html>
`;
  return `<!doctype html>
<html lang="${language.replace(/[^A-Za-z-]/g, '')}">
<head>
<meta charset="utf-8">
${GENERATOR}
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>${STYLE}${style ?? ''}</style>
${markup.replaceAll(' %', '\u00a0%')}`;
}

const STYLE = `
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0; background: ${PAPER}; color: ${PALETTE.ink};
  font: 15px/1.45 "Helvetica Neue", Arial, "Liberation Sans", "DejaVu Sans Condensed", sans-serif; }
body.dense { font-size: 13px; line-height: 1.32; }
main, footer { max-width: ${CONTENT_WIDTH}px; margin: 0 auto; }
main { padding: 16px 0 8px; }
footer { padding: 6px 0 16px; border-top: 1px solid ${PALETTE.rule}; color: ${PALETTE.faint}; font-size: 0.8em; overflow-wrap: anywhere; }
h1 { font-size: 1.6em; line-height: 1.2; margin: 0 0 0.3em; }
h2 { font-size: 1.18em; line-height: 1.25; margin: 1.1em 0 0.3em; }
h3 { font-size: 1em; margin: 0.9em 0 0.2em; }
.dense h1 { font-size: 1.5em; margin: 0 0 0.2em; }
.dense h2 { font-size: 1.08em; margin: 0.55em 0 0.1em; }
p, ul, ol { margin: 0.3em 0 0.5em; }
.dense p, .dense ul { margin: 0.1em 0 0.2em; } .dense figure { margin: 0.2em 0; }
ul { padding-left: 1.2em; }
h1, h2, h3, td, li, p { overflow-wrap: anywhere; }
.short { white-space: nowrap; }
figure { margin: 0.5em 0; }
figcaption { color: ${PALETTE.faint}; font-size: 0.9em; }
svg { display: block; max-width: 100%; height: auto; }
svg text { font-family: inherit; fill: ${PALETTE.ink}; }
table { border-collapse: collapse; width: 100%; font-size: 0.8em; font-variant-numeric: tabular-nums; }
th, td { border: 1px solid ${PALETTE.rule}; padding: 2px 4px; text-align: left; vertical-align: top; }
thead th { background: ${PALETTE.wash}; }
td { min-width: 4em; } td.number, th.number { text-align: right; min-width: 0; } td.number { overflow-wrap: normal; }
.scroll { overflow-x: auto; margin: 0.4em 0; }
.faint { color: ${PALETTE.faint}; }
.note { border: 1px solid ${PALETTE.ink}; background: ${PALETTE.wash}; padding: 6px 10px; margin: 0.5em 0; }
.note p:first-child { margin-top: 0; } .note p:last-child { margin-bottom: 0; }
.columns { columns: 2; column-gap: 22px; } .columns section { break-inside: avoid; }
.dense .columns { margin-top: 0.5em; } .columns section:first-child h2 { margin-top: 0; }
.pairs { columns: 2; column-gap: 10px; } .pairs .scroll { margin: 0; overflow: visible; }
.row { display: flex; flex-wrap: wrap; gap: 0 10px; } .row figure { margin: 0.2em 0; }
.row .third { flex: 1 1 210px; max-width: 330px; }
code { font-family: ui-monospace, "DejaVu Sans Mono", monospace; font-size: 0.92em; }
@media screen and (max-width: ${CONTENT_WIDTH + 32}px) { main, footer { padding-left: 16px; padding-right: 16px; } }
@media screen and (max-width: 520px) { td { overflow-wrap: break-word; } .columns, .pairs { columns: 1; } .wide { overflow-x: auto; } .wide svg { max-width: none; width: 100%; min-width: 480px; } }
@media print {
  @page { margin: 8mm 10mm; }
  * { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  main, footer { padding-top: 0; padding-bottom: 0; }
  body.dense { font-size: 12px; line-height: 1.2; }
  .dense h2 { margin-top: 0.4em; }
  footer { padding-top: 4px; }
  figure, tr, .note, .whole, .pairs, main > h2 + p, main > h3 + p { break-inside: avoid; }
  h1, h2, h3, main > h2 + p, main > h3 + p { break-after: avoid; }
  thead { display: table-header-group; }
  .scroll { overflow: visible; }
}
`;
