/** How a letter on a terminal looks, by the codes that stand before it (ECMA-48, SGR). */
export interface Look {
  readonly isBold: boolean;
  readonly isDim: boolean;
  readonly isUnderlined: boolean;
  /** As their codes: 30 to 37 and 90 to 97, 40 to 47 and 100 to 107; null for those of the window. */
  readonly colour: number | null;
  readonly ground: number | null;
}

const USUAL: Look = { isBold: false, isDim: false, isUnderlined: false, colour: null, ground: null };

function after(look: Look, code: number): Look {
  if (code === 0) return USUAL;
  if (code === 1) return { ...look, isBold: true };
  if (code === 2) return { ...look, isDim: true };
  if (code === 22) return { ...look, isBold: false, isDim: false };
  if (code === 4 || code === 24) return { ...look, isUnderlined: code === 4 };
  if ((code >= 30 && code <= 37) || (code >= 90 && code <= 97)) return { ...look, colour: code };
  if ((code >= 40 && code <= 47) || (code >= 100 && code <= 107)) return { ...look, ground: code };
  if (code === 39) return { ...look, colour: null };
  if (code === 49) return { ...look, ground: null };
  throw new Error(`a letter is made to look in a way that is not known here: ${code}`);
}

/** What a terminal shows, letter by letter, each with how it looks. */
export function lettersOf(coloured: string): readonly (readonly { letter: string; look: Look }[])[] {
  let look = USUAL;
  return coloured.split('\n').map((line) => {
    const letters: { letter: string; look: Look }[] = [];
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what is looked for
    for (const [piece, codes] of line.matchAll(/\u001b\[([\d;]*)m|[^\u001b]/gu)) {
      if (codes === undefined) letters.push({ letter: piece, look });
      else for (const code of codes.split(';')) look = after(look, Number(code));
    }
    return letters;
  });
}

/** The sign of a look. */
export function signOf({ isBold, isDim, isUnderlined, colour, ground }: Look): string {
  if (colour === 97 && ground === 40) return '#';
  if (colour === 31) return 'r';
  if (colour === 32) return 'g';
  if (colour === 33) return 'y';
  if (isUnderlined) return 'u';
  return isBold ? 'b' : isDim ? 'd' : ' ';
}

/** What a terminal shows as text that can be read: below each line, where something stands out, what its letters look like. */
export const withMarks = (coloured: string): string =>
  lettersOf(coloured)
    .flatMap((line) => {
      const text = line.map(({ letter }) => letter).join('');
      const marks = line.map(({ letter, look }) => (letter === ' ' ? ' ' : signOf(look))).join('');
      return [text, marks].map((each) => each.trimEnd()).filter((each, index) => index === 0 || each !== '');
    })
    .join('\n')
    .trimEnd();
