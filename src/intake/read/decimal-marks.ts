/**
 * Numbers of one CSV file. A file separated by semicolons or tabs may come from a spreadsheet that writes decimal commas; they
 * are read where nothing else can be meant. One file has one decimal mark.
 */
import type { CsvDelimiter } from './csv-delimiter.ts';

const pointed = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,4})?$/;
const commaed = /^[+-]?(?:\d+,\d*|,\d+)(?:[eE][+-]?\d{1,4})?$/;
/** Three digits after a comma may be thousands: 1,234. */
const perhapsThousands = /^[+-]?[1-9]\d{0,2},\d{3}$/;

export type NumberRead =
  | { readonly ok: true; readonly value: number }
  | { readonly ok: false; readonly finite: boolean; readonly remedy: string | undefined };

const refuse = (remedy?: string): NumberRead => ({ ok: false, finite: true, remedy });

export class DecimalMarks {
  readonly #commasAllowed: boolean;
  /** What the numbers so far were written with. */
  #mark: '.' | ',' | null = null;

  constructor(delimiter: CsvDelimiter) {
    this.#commasAllowed = delimiter !== ',';
  }

  /** Refuses '', ' 1', '1e400', '0x10', 'NaN', and a decimal mark that is not that of the file. */
  read(cell: string): NumberRead {
    if (pointed.test(cell)) {
      if (!cell.includes('.')) return this.#finite(cell);
      return this.#mark === ',' ? refuse(mixed(cell, ',')) : this.#finite(cell, '.');
    }
    if (!commaed.test(cell)) {
      if (/^[+-]?(nan|inf(inity)?)$/i.test(cell.trim())) return { ok: false, finite: false, remedy: undefined };
      return refuse(adviceFor(cell));
    }
    if (!this.#commasAllowed) {
      return refuse('Write numbers with a decimal point, or separate the columns with semicolons.');
    }
    if (this.#mark === '.') return refuse(mixed(cell, '.'));
    if (this.#mark === null && perhapsThousands.test(cell)) {
      return refuse(`${cell} may mean ${cell.replace(',', '.')} or ${cell.replace(',', '')}: write a decimal point.`);
    }
    return this.#finite(cell.replace(',', '.'), ',');
  }

  #finite(text: string, mark?: '.' | ','): NumberRead {
    const value = Number(text);
    if (!Number.isFinite(value)) return { ok: false, finite: false, remedy: undefined };
    if (mark !== undefined) this.#mark = mark;
    return { ok: true, value };
  }
}

/** What to do about a cell that is no number, when it shows what happened. */
function adviceFor(cell: string): string | undefined {
  if (cell.startsWith('#')) return 'The spreadsheet wrote an error here: mend the formula, or leave the cell empty.';
  if (/^(n\/?a|none|null|nil|missing|unknown|-+|\u2013|\u2014|\?)$/i.test(cell))
    return 'Leave the cell empty when there is no value.';
  if (/^[\u2212\u2012-\u2014]/.test(cell)) return "Write minus as '-' (hyphen).";
  if (/^[+-]?[\d.,]+ *[^\d\s.,+-]/.test(cell)) return 'Write the number alone: its unit stands in the header.';
  return cell.includes(',') ? 'Write numbers with one decimal mark and no thousands separators.' : undefined;
}

function mixed(cell: string, before: '.' | ','): string {
  const mark = before === '.' ? 'a decimal point' : 'a decimal comma';
  return `Earlier numbers of this file have ${mark}, ${cell} has the other: use one of them throughout.`;
}
