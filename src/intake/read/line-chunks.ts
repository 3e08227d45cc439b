/** Lines of NDJSON in pieces that one thread reads at a time. */
import { decodeUtf8 } from './decode-utf8.ts';
import { readLines } from './read-lines.ts';

/** A piece holds about so many bytes; a longer line is a piece of its own. */
const pieceBytes = 128 * 1024;

export interface LineChunk {
  /** The lines one after another, without their ends. */
  readonly bytes: Uint8Array;
  /** Where each line ends among the bytes. */
  readonly ends: readonly number[];
  /** Number of each line in the body, from 1. */
  readonly rows: readonly number[];
  /** Place of the first line among those that are not blank, from 1. */
  readonly position: number;
}

/** Blank is what `trim` leaves nothing of; that a line begins with a visible character of ASCII settles it at once. */
function isBlank(bytes: Uint8Array, row: number): boolean {
  const first = bytes[0];
  if (first === undefined) return true;
  if (first > 0x20 && first < 0x7f) return false;
  return decodeUtf8(bytes, `Line ${row}`).trim() === '';
}

/**
 * The lines that are not blank.
 *
 * @throws Refusal line-too-long, malformed-body (not UTF-8)
 */
export async function* lineChunks(chunks: AsyncIterable<Uint8Array>, lineBytes: number): AsyncGenerator<LineChunk> {
  let pieces: Uint8Array[] = [];
  let ends: number[] = [];
  let rows: number[] = [];
  let length = 0;
  let position = 1;
  const take = (): LineChunk => {
    const bytes = new Uint8Array(length);
    let at = 0;
    for (const piece of pieces) {
      bytes.set(piece, at);
      at += piece.byteLength;
    }
    const chunk = { bytes, ends, rows, position };
    position += rows.length;
    pieces = [];
    ends = [];
    rows = [];
    length = 0;
    return chunk;
  };
  for await (const { number, bytes } of readLines(chunks, lineBytes)) {
    if (isBlank(bytes, number)) continue;
    if (length > 0 && length + bytes.byteLength > pieceBytes) yield take();
    pieces.push(bytes);
    length += bytes.byteLength;
    ends.push(length);
    rows.push(number);
  }
  if (rows.length > 0) yield take();
}

/** The text of each line of a piece. @throws Refusal malformed-body */
export function* textsOf({ bytes, ends, rows }: LineChunk): Generator<string> {
  let from = 0;
  for (const [index, end] of ends.entries()) {
    yield decodeUtf8(bytes.subarray(from, end), `Line ${rows[index]}`).trim();
    from = end;
  }
}
