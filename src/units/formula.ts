/**
 * Text cells that a spreadsheet would take for a formula. Only for words that came from outside: a number never goes through
 * here, so that a minus stays a minus.
 */
const MARK = "'";
/** The fullwidth forms are taken for formulas too. */
const LIKE_A_FORMULA = /^[=+\-@\t\r＝＋－＠']/;

export const looksLikeFormula = (text: string): boolean => LIKE_A_FORMULA.test(text);

/** A text as it stands in a cell: with one more mark when it begins like a formula, or with that mark; `plainText` gives it back. */
export const neutralised = (text: string): string => (looksLikeFormula(text) ? MARK + text : text);

export const plainText = (cell: string): string => (cell.startsWith(MARK) ? cell.slice(MARK.length) : cell);
