import { describe, expect, it } from 'vitest';
import { drawing } from '../../src/report/drawing.js';
import { type Html, html } from '../../src/report/html.js';
import { CONTENT_WIDTH, page } from '../../src/report/page.js';
import { table } from '../../src/report/table.js';

const HOSTILE = '<script>alert(1)</script> & "two" \'one\'';
const whole = (body: Html) => page({ language: 'en', title: HOSTILE, body, foot: HOSTILE });

/** What in a page would make a browser ask another place for something, or run something. */
function reachesOut(text: string): string[] {
  const found = text.match(
    /<script|<link|<img|<iframe|<object|\b(?:src|href)\s*=|\son[a-z]+\s*=|url\(|@import|javascript:|https?:(?!\/\/www\.w3\.org\/2000\/svg")/gi,
  );
  return found ?? [];
}

describe('html()', () => {
  it('escapes every text between tags and in attributes, and no markup twice', () => {
    const { markup } = html`<td title="${HOSTILE}">${[html`<b>${'a<b'}</b>`, null, 7, ['&']]}</td>`;
    expect(markup).toBe(
      '<td title="&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;two&quot; &#39;one&#39;"><b>a&lt;b</b>7&amp;</td>',
    );
  });
});

describe('page()', () => {
  it('reaches out to nothing and runs nothing, whatever a person typed', () => {
    const rows = table(HOSTILE, [{ head: HOSTILE, cell: (row: string) => row }], [HOSTILE]);
    const picture = drawing({ width: 10, height: 10, alt: HOSTILE, body: html`<text>${HOSTILE}</text>` });
    expect(reachesOut(whole(html`${rows}${picture}<p>${HOSTILE}</p>`))).toEqual([]);
  });

  it('would be found out if it did', () => {
    expect(reachesOut(whole({ markup: HOSTILE }))).toEqual(['<script']);
    expect(reachesOut(whole(html`<img src="a.png"><p style="background: url(b.png)">`))).toEqual([
      '<img',
      'src=',
      'url(',
    ]);
  });

  it('lets a browser refuse what it was not made to hold', () => {
    expect(whole(html`x`)).toContain("default-src 'none'");
  });

  it('has content no wider than the narrower sheet between its margins', () => {
    const margins = /@page \{ margin: \d+mm (\d+)mm; \}/.exec(whole(html`x`));
    // A4 is 210 mm wide (ISO 216), Letter 8.5 in (ANSI Y14.1); a CSS pixel is 1/96 in (CSS Values and Units).
    const room = ((210 - 2 * Number(margins![1])) / 25.4) * 96;
    expect(CONTENT_WIDTH).toBeLessThanOrEqual(room);
  });
});
