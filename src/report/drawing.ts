import { type Html, html, type Part } from './html.js';

/** A drawing of fixed size, CSS pixels. */
export interface Drawing {
  readonly width: number;
  readonly height: number;
  /** The same in words, for those who cannot see it: what it shows, not how it looks. */
  readonly alt: string;
  readonly body: Part;
}

/** A drawing as SVG that stands in a page. */
export const drawing = ({ width, height, alt, body }: Drawing): Html =>
  html`<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" role="img" aria-label="${alt}">
${body}
</svg>`;

/** A coordinate as it is written: a hundredth of a pixel is finer than any printer. */
export const px = (value: number): number => Math.round(value * 100) / 100;
