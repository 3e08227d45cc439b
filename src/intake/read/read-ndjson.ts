/** NDJSON: one shot a line, read as it arrives. */
import { decodeUtf8 } from './decode-utf8.ts';
import { parseLine } from './parse-line.ts';
import { readLines } from './read-lines.ts';
import type { SentShot } from './sent-shot.ts';

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
