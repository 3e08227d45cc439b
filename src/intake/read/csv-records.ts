/** Rows of a CSV as lists of cells, read as they arrive, whatever a spreadsheet put around them. */
import { pipeline, Readable } from 'node:stream';
import { CsvError, parse } from 'csv-parse';
import { Refusal } from '../../../shared/refusal.ts';
import { type CsvDelimiter, detectDelimiter, holdsHeader } from './csv-delimiter.ts';
import { decodeUtf8Stream } from './decode-utf8.ts';

async function* continued(head: string, rest: AsyncIterator<string>): AsyncGenerator<string> {
  try {
    if (head !== '') yield head;
    for (let next = await rest.next(); next.done !== true; next = await rest.next()) {
      if (next.value !== '') yield next.value;
    }
  } finally {
    await rest.return?.();
  }
}

/** Reads until the header row is whole. */
async function readHead(texts: AsyncIterator<string>, limit: number): Promise<string> {
  let head = '';
  while (!holdsHeader(head)) {
    const next = await texts.next();
    if (next.done === true) break;
    head += next.value;
    if (head.length > limit) throw new Refusal('line-too-long', `The header row is longer than ${limit} bytes.`);
  }
  return head;
}

/** What a quote in the wrong place is mended by. */
const quoteAdvice = 'A cell that holds a quote stands in quotes, with that quote doubled: "5"" cue".';

function refusalOf(error: CsvError, limit: number): Refusal {
  // Records read before this one, whether anybody has taken them yet or not.
  const row = Number(error.records) + 1;
  if (error.code === 'CSV_MAX_RECORD_SIZE') {
    return new Refusal('line-too-long', `Row ${row} is longer than ${limit} bytes, or a quote in it is never closed.`, {
      cause: error,
    });
  }
  if (error.code === 'CSV_QUOTE_NOT_CLOSED') {
    return new Refusal('malformed-body', `A quote in row ${row} is never closed. ${quoteAdvice}`, { cause: error });
  }
  const advice = error.message.includes('Quote') ? ` ${quoteAdvice}` : '';
  return new Refusal('malformed-body', `Row ${row} of the CSV cannot be read: ${error.message}.${advice}`, {
    cause: error,
  });
}

/** Workbooks are ZIP files. */
function refuseWorkbook(head: string): void {
  if (!head.startsWith('PK\u0003\u0004')) return;
  throw new Refusal('malformed-body', 'This is a workbook or another ZIP file: save the sheet as CSV (UTF-8).');
}

export interface CsvRecord {
  /** Number of the row in the file, the header being 1; rows without content count. */
  readonly row: number;
  readonly cells: readonly string[];
  readonly delimiter: CsvDelimiter;
}

/**
 * The header row, then every row with content.
 *
 * @throws Refusal malformed-body, line-too-long
 */
export async function* csvRecords(chunks: AsyncIterable<Uint8Array>, rowBytes: number): AsyncGenerator<CsvRecord> {
  const texts = decodeUtf8Stream(chunks)[Symbol.asyncIterator]();
  const head = await readHead(texts, rowBytes);
  refuseWorkbook(head);
  const delimiter = detectDelimiter(head);
  const parser = parse({
    delimiter,
    record_delimiter: ['\r\n', '\n', '\r'],
    relax_column_count: true,
    max_record_size: rowBytes,
  });
  // The callback form: the promise form would destroy the body and answer for us when a row is refused.
  pipeline(Readable.from(continued(head, texts)), parser, () => {});
  let row = 0;
  try {
    for await (const record of parser) {
      const cells = record as readonly string[];
      row += 1;
      if (row === 1 || cells.some((cell) => cell.trim() !== '')) yield { row, cells, delimiter };
    }
  } catch (error) {
    throw error instanceof CsvError ? refusalOf(error, rowBytes) : error;
  }
}
