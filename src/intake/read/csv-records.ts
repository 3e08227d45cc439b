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

function refusalOf(error: CsvError, limit: number): Refusal {
  if (error.code === 'CSV_MAX_RECORD_SIZE') {
    return new Refusal('line-too-long', `A row is longer than ${limit} bytes, or a quote is never closed.`, {
      cause: error,
    });
  }
  return new Refusal('malformed-body', `The CSV cannot be read: ${error.message}.`, { cause: error });
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
