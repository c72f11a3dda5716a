/**
 * Markup in which every text that was put in has been escaped. Only `html` makes it, so that a label typed by a person
 * can never become markup.
 */
export interface Html {
  readonly markup: string;
}

/** What a template takes: text and numbers are escaped, markup is not, null leaves nothing. */
export type Part = string | number | null | Html | readonly Part[];

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** A text as it may stand in markup, between tags or in a quoted attribute. */
export const escaped = (text: string): string => text.replace(/[&<>"']/g, (sign) => ESCAPES[sign]!);

/**
 * Markup from a template: html`<td>${label}</td>`. Serves for SVG too.
 *
 * Attributes must be in quotes, and a part must not be inside a `<style>`, for there escaping does not protect.
 */
export function html(literals: TemplateStringsArray, ...parts: readonly Part[]): Html {
  const markup = literals.reduce((text, literal, index) => text + markupOf(parts[index - 1]!) + literal);
  return { markup };
}

function markupOf(part: Part): string {
  if (part === null) return '';
  if (typeof part === 'string') return escaped(part);
  if (typeof part === 'number') return String(part);
  if ('markup' in part) return part.markup;
  return part.map(markupOf).join('');
}
