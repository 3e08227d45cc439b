/** Shots of a body, whatever the medium, one at a time. */
import { Refusal } from '../../../shared/refusal.ts';
import type { IntakeLimits } from '../limits.ts';
import { limitBytes } from './limit-bytes.ts';
import { paceBody } from './pace-body.ts';
import { readCsv } from './read-csv.ts';
import { readJson } from './read-json.ts';
import { readMultipart } from './read-multipart.ts';
import { readNdjson } from './read-ndjson.ts';
import type { SentShot, SubmissionMedia } from './sent-shot.ts';

function open(media: SubmissionMedia, chunks: AsyncIterable<Uint8Array>, limits: IntakeLimits) {
  if (media === 'json') return readJson(chunks, limits.jsonBytes);
  if (media === 'ndjson') return readNdjson(chunks, limits.lineBytes);
  if (media === 'multipart') return readMultipart(chunks, limits);
  return readCsv(chunks, limits.lineBytes);
}

/**
 * A body that keeps coming and stays below its limit.
 *
 * @throws Refusal body-too-large, body-too-slow
 */
export function boundedBody(
  body: AsyncIterable<Uint8Array>,
  { pace, uploadBytes }: Pick<IntakeLimits, 'pace' | 'uploadBytes'>,
): AsyncGenerator<Uint8Array> {
  return limitBytes(paceBody(body, pace), uploadBytes);
}

/**
 * @throws Refusal body-too-large, body-too-slow, line-too-long, malformed-body, request-invalid (also when the body holds no shot)
 */
export async function* readShots(
  media: SubmissionMedia,
  body: AsyncIterable<Uint8Array>,
  limits: IntakeLimits,
): AsyncGenerator<SentShot> {
  let shots = 0;
  for await (const shot of open(media, boundedBody(body, limits), limits)) {
    shots += 1;
    yield shot;
  }
  if (shots === 0) throw new Refusal('request-invalid', 'The body holds no shot.');
}
