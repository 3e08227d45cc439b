/**
 * Numbers of one CSV file. A file separated by semicolons may come from a spreadsheet that writes decimal commas; they
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
    this.#commasAllowed = delimiter === ';';
  }

  /** Refuses '', ' 1', '1e400', '0x10', 'NaN', and a decimal mark that is not that of the file. */
  read(cell: string): NumberRead {
    if (pointed.test(cell)) {
      if (!cell.includes('.')) return this.#finite(cell);
      return this.#mark === ',' ? refuse(mixed(cell, ',')) : this.#finite(cell, '.');
    }
    if (!commaed.test(cell)) {
      if (/^[+-]?(nan|inf(inity)?)$/i.test(cell.trim())) return { ok: false, finite: false, remedy: undefined };
      return refuse(
        cell.includes(',') ? 'Write numbers with one decimal mark and no thousands separators.' : undefined,
      );
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

function mixed(cell: string, before: '.' | ','): string {
  const mark = before === '.' ? 'a decimal point' : 'a decimal comma';
  return `Earlier numbers of this file have ${mark}, ${cell} has the other: use one of them throughout.`;
}
