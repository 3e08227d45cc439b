/** A body that refuses to grow past its limit; stream parsers of the HTTP server do not count for us. */
import { Refusal } from '../../../shared/refusal.ts';

/**
 * @param advice what to do instead, when there is something better than a smaller body
 * @throws Refusal body-too-large as soon as the limit is passed
 */
export async function* limitBytes(
  body: AsyncIterable<Uint8Array>,
  limit: number,
  advice = '',
): AsyncGenerator<Uint8Array> {
  let bytes = 0;
  for await (const chunk of body) {
    bytes += chunk.byteLength;
    if (bytes > limit) {
      throw new Refusal('body-too-large', `The body is longer than ${limit} bytes, the limit of this server.${advice}`);
    }
    yield chunk;
  }
}
