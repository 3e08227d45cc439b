/** NDJSON: one shot a line, read as it arrives. A line that is not JSON is a fault of that shot, not of the upload. */
import { fault } from '../../../shared/fault.ts';
import { decodeUtf8 } from './decode-utf8.ts';
import { readLines } from './read-lines.ts';
import type { SentShot } from './sent-shot.ts';

function parseLine(text: string): Pick<SentShot, 'value' | 'faults'> {
  try {
    return { value: JSON.parse(text) as unknown, faults: [] };
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    const remedy = `Write one complete JSON object on each line (${error.message}).`;
    return { value: null, faults: [fault('structure-invalid', '', text, 'one JSON object on the line', remedy)] };
  }
}

/**
 * Shots of an NDJSON body in the order sent; blank lines are skipped.
 *
 * @throws Refusal line-too-long, malformed-body (not UTF-8)
 */
export async function* readNdjson(chunks: AsyncIterable<Uint8Array>, lineBytes: number): AsyncGenerator<SentShot> {
  let position = 0;
  for await (const { number, bytes } of readLines(chunks, lineBytes)) {
    const text = decodeUtf8(bytes, `Line ${number}`).trim();
    if (text === '') continue;
    position += 1;
    yield { position, row: number, columns: null, ...parseLine(text) };
  }
}
