/**
 * Comma, semicolon or tab, whichever the header row holds most of; spreadsheets of many countries write semicolons, and
 * what is copied out of one has tabs.
 */

const delimiters = [',', ';', '\t'] as const;
export type CsvDelimiter = (typeof delimiters)[number];

/** Delimiter of a text that begins with the header row. */
export function detectDelimiter(text: string): CsvDelimiter {
  const counts = { ',': 0, ';': 0, '\t': 0 };
  let quoted = false;
  for (const character of text) {
    if (character === '"') quoted = !quoted;
    else if (!quoted && (character === '\n' || character === '\r')) break;
    else if (!quoted && Object.hasOwn(counts, character)) counts[character as CsvDelimiter] += 1;
  }
  return delimiters.reduce((most, delimiter) => (counts[delimiter] > counts[most] ? delimiter : most));
}

/** True when the text holds a whole first line. */
export function holdsHeader(text: string): boolean {
  return /[\n\r]/.test(text);
}
