/**
 * The grade of a United States school whose pupils read a text without trouble: Flesch-Kincaid grade level, Kincaid,
 * Fishburne, Rogers and Chissom 1975, "Derivation of New Readability Formulas (Automated Readability Index, Fog Count and
 * Flesch Reading Ease Formula) for Navy Enlisted Personnel", Research Branch Report 8-75 (coefficients from memory).
 * Lines that end without a stop, as headings do, are no sentences and left out.
 */
export function gradeOf(text: string): number {
  const sentences = text
    .split('\n')
    .filter((line) => /[.!?:]\s*$/.test(line))
    .flatMap((line) => line.split(/(?<=[.!?])\s+/))
    .map((sentence) => sentence.match(/[A-Za-z][A-Za-z'-]*/g) ?? [])
    .filter((words) => words.length > 2);
  const words = sentences.flat();
  const syllables = words.reduce((sum, word) => sum + syllablesOf(word), 0);
  return 0.39 * (words.length / sentences.length) + 11.8 * (syllables / words.length) - 15.59;
}

/** Groups of vowels, a silent e left out: the usual estimate of English syllables. */
export function syllablesOf(word: string): number {
  const plain = word.toLowerCase().replace(/[^a-z]/g, '');
  const spoken = plain.replace(/(?:[^laeiouy]es|[^td]ed|[^laeiouy]e)$/, (end) => end[0]!);
  return Math.max(1, spoken.match(/[aeiouy]+/g)?.length ?? 0);
}
