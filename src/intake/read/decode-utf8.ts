/** Bytes to text; bytes that are not UTF-8 refuse the body instead of turning into replacement characters. */
import { Refusal } from '../../../shared/refusal.ts';

function refuse(place: string, cause: unknown): Refusal {
  return new Refusal('malformed-body', `${place} holds bytes that are not UTF-8.`, { cause });
}

/** Decodes one piece of text that is complete in itself; a byte order mark at its start is dropped. */
export function decodeUtf8(bytes: Uint8Array, place: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    throw refuse(place, error);
  }
}

/** Decodes a stream, whose characters may be cut anywhere; a byte order mark at its start is dropped. */
export async function* decodeUtf8Stream(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<string> {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  const decode = (chunk?: Uint8Array): string => {
    try {
      return chunk === undefined ? decoder.decode() : decoder.decode(chunk, { stream: true });
    } catch (error) {
      throw refuse('The body', error);
    }
  };
  for await (const chunk of chunks) yield decode(chunk);
  yield decode();
}
