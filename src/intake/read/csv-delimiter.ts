/** Comma or semicolon, whichever the header row holds more of; spreadsheets of many countries write semicolons. */

export type CsvDelimiter = ',' | ';';

/** Delimiter of a text that begins with the header row. */
export function detectDelimiter(text: string): CsvDelimiter {
  let commas = 0;
  let semicolons = 0;
  let quoted = false;
  for (const character of text) {
    if (character === '"') quoted = !quoted;
    else if (!quoted && (character === '\n' || character === '\r')) break;
    else if (!quoted && character === ',') commas += 1;
    else if (!quoted && character === ';') semicolons += 1;
  }
  return semicolons > commas ? ';' : ',';
}

/** True when the text holds a whole first line. */
export function holdsHeader(text: string): boolean {
  return /[\n\r]/.test(text);
}
