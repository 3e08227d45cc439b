/** CSV: one shot a row under a header row, read as it arrives. Such shots carry no track and are stored as reported. */
import { pipeline, Readable } from 'node:stream';
import { CsvError, parse } from 'csv-parse';
import { Refusal } from '../../../shared/refusal.ts';
import { type CsvDelimiter, detectDelimiter, holdsHeader } from './csv-delimiter.ts';
import { type CsvColumn, readCsvHeader } from './csv-header.ts';
import { readCsvShot } from './csv-shot.ts';
import { decodeUtf8Stream } from './decode-utf8.ts';
import type { SentShot } from './sent-shot.ts';

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

/** Records as lists of cells; rows without any content included, so that rows can be counted. */
async function* records(
  texts: AsyncIterable<string>,
  delimiter: CsvDelimiter,
  limit: number,
): AsyncGenerator<readonly string[]> {
  const parser = parse({
    delimiter,
    record_delimiter: ['\r\n', '\n', '\r'],
    relax_column_count: true,
    max_record_size: limit,
  });
  // The callback form: the promise form would destroy the body and answer for us when a row is refused.
  pipeline(Readable.from(texts), parser, () => {});
  try {
    for await (const record of parser) yield record as readonly string[];
  } catch (error) {
    throw error instanceof CsvError ? refusalOf(error, limit) : error;
  }
}

/**
 * Shots of a CSV body in the order sent.
 *
 * @throws Refusal request-invalid (header row), malformed-body, line-too-long
 */
export async function* readCsv(chunks: AsyncIterable<Uint8Array>, rowBytes: number): AsyncGenerator<SentShot> {
  const texts = decodeUtf8Stream(chunks)[Symbol.asyncIterator]();
  const head = await readHead(texts, rowBytes);
  let columns: readonly CsvColumn[] | null = null;
  let row = 0;
  let position = 0;
  for await (const cells of records(continued(head, texts), detectDelimiter(head), rowBytes)) {
    row += 1;
    if (columns === null) {
      columns = readCsvHeader(cells);
      continue;
    }
    if (cells.every((cell) => cell.trim() === '')) continue;
    position += 1;
    yield readCsvShot(position, row, columns, cells);
  }
  if (columns === null) throw new Refusal('request-invalid', 'The CSV has no header row.');
}
