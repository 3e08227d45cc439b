/** Bytes to text; bytes that are not UTF-8 refuse the body instead of turning into replacement characters. */
import { Refusal } from '../../../shared/refusal.ts';

function refuse(place: string, bytes: Uint8Array, cause: unknown): Refusal {
  const [first, second] = bytes;
  const isUtf16 = (first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff);
  const advice = isUtf16
    ? 'It is written as UTF-16 (Unicode text)'
    : 'A spreadsheet writes other bytes for letters with accents and for signs such as \u00b0 and \u00b5';
  return new Refusal('malformed-body', `${place} holds bytes that are not UTF-8. ${advice}: save it as UTF-8.`, {
    cause,
  });
}

const lineFeed = 0x0a;

/** Line breaks before the first line that is not UTF-8 by itself. */
function goodLines(bytes: Uint8Array): number {
  let lines = 0;
  for (let from = 0; ; lines += 1) {
    const to = bytes.indexOf(lineFeed, from);
    try {
      new TextDecoder('utf-8', { fatal: true }).decode(bytes.subarray(from, to === -1 ? undefined : to));
    } catch {
      return lines;
    }
    if (to === -1) return lines;
    from = to + 1;
  }
}

function countLines(bytes: Uint8Array): number {
  let lines = 0;
  for (let at = bytes.indexOf(lineFeed); at !== -1; at = bytes.indexOf(lineFeed, at + 1)) lines += 1;
  return lines;
}

/** Decodes one piece of text that is complete in itself; a byte order mark at its start is dropped. */
export function decodeUtf8(bytes: Uint8Array, place: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    throw refuse(place, bytes, error);
  }
}

/** Decodes a stream, whose characters may be cut anywhere; a byte order mark at its start is dropped. */
export async function* decodeUtf8Stream(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<string> {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  let lines = 1;
  const decode = (chunk?: Uint8Array): string => {
    try {
      return chunk === undefined ? decoder.decode() : decoder.decode(chunk, { stream: true });
    } catch (error) {
      const rest = chunk ?? new Uint8Array(0);
      throw refuse(`Line ${lines + goodLines(rest)}`, rest, error);
    }
  };
  for await (const chunk of chunks) {
    yield decode(chunk);
    lines += countLines(chunk);
  }
  yield decode();
}
