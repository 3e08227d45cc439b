/** Plain text at most 100 columns wide: headings, wrapped paragraphs, tables. */

export const width = 100;

/** Wraps words to the width; every line starts with `indent`, the first with `first`. */
export function wrapped(text: string, first = '', indent = first.replace(/./g, ' ')): string[] {
  const lines: string[] = [];
  let line = first;
  let empty = true;
  for (const word of text.split(/\s+/).filter((part) => part !== '')) {
    if (!empty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = indent;
      empty = true;
    }
    line += empty ? word : ` ${word}`;
    empty = false;
  }
  lines.push(line);
  return lines;
}

/** A heading with a rule under it and an empty line before it. */
export function heading(text: string): string[] {
  return ['', text, '-'.repeat(text.length)];
}

/** Columns as wide as their widest cell; numbers (cells that start with a digit or sign) are set to the right. */
export function table(header: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const widths = header.map((name, column) => Math.max(name.length, ...rows.map((row) => (row[column] ?? '').length)));
  const toTheRight = header.map((_, column) => rows.every((row) => /^(-?[\d.]|-$)/.test(row[column] ?? '')));
  const lineOf = (cells: readonly string[]) =>
    `  ${cells
      .map((cell, column) =>
        toTheRight[column] === true ? cell.padStart(widths[column] ?? 0) : cell.padEnd(widths[column] ?? 0),
      )
      .join('  ')
      .trimEnd()}`;
  return [lineOf(header), `  ${widths.map((each) => '-'.repeat(each)).join('  ')}`, ...rows.map(lineOf)];
}
