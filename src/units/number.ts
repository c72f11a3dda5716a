const DECIMAL = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/;

/**
 * Reads a decimal number with a dot. Returns null for anything else, and for numbers too large to hold: an
 * empty text, spaces, a decimal comma, a unit behind the number, `0x10`, `Infinity`, `1e400`. `Number` would
 * guess in some of these cases and `parseFloat` in most.
 */
export function parseDecimal(text: string): number | null {
  if (!DECIMAL.test(text)) return null;
  const value = Number(text);
  return Number.isFinite(value) ? value : null;
}
