/** Lines of a body as bytes, split where 0x0A stands, which in UTF-8 is never part of another character. */
import { Refusal } from '../../../shared/refusal.ts';

export interface Line {
  /** Number of the line, from 1. */
  readonly number: number;
  readonly bytes: Uint8Array;
}

/** @throws Refusal line-too-long, naming the line, before more than the limit is held in memory */
export async function* readLines(chunks: AsyncIterable<Uint8Array>, limit: number): AsyncGenerator<Line> {
  let number = 1;
  let pieces: Uint8Array[] = [];
  let length = 0;
  const take = (piece: Uint8Array): void => {
    length += piece.byteLength;
    if (length > limit) throw new Refusal('line-too-long', `Line ${number} is longer than ${limit} bytes.`);
    pieces.push(piece);
  };
  const finish = (): Line => {
    const line = { number, bytes: pieces.length === 1 && pieces[0] !== undefined ? pieces[0] : Buffer.concat(pieces) };
    number += 1;
    pieces = [];
    length = 0;
    return line;
  };
  for await (const chunk of chunks) {
    let from = 0;
    for (let to = chunk.indexOf(0x0a); to !== -1; to = chunk.indexOf(0x0a, from)) {
      take(chunk.subarray(from, to));
      yield finish();
      from = to + 1;
    }
    if (from < chunk.byteLength) take(chunk.subarray(from));
  }
  if (length > 0) yield finish();
}
