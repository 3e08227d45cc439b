/** JSON: one shot, or `{"shots": [...]}`. The whole body is held in memory, so its limit is lower than of NDJSON. */

import { fault } from '../../../shared/fault.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { decodeUtf8 } from './decode-utf8.ts';
import { limitBytes } from './limit-bytes.ts';
import type { SentShot } from './sent-shot.ts';

const lineByLine = ' Send one shot a line as application/x-ndjson';

/** What to send instead, when the text shows what it is. */
function adviceFor(text: string): string {
  const [first = '', ...rest] = text.trim().split('\n');
  if (rest.length > 0 && isJson(first)) return `${lineByLine}, or a list of shots in one object as application/json.`;
  return /^[[{]/.test(first) ? '' : ' A table goes as text/csv.';
}

function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

function parse(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch (error) {
    const reason = error instanceof Error ? error.message : 'The body is not JSON';
    throw new Refusal('malformed-body', `${reason}.${adviceFor(text)}`, { cause: error });
  }
}

/** Shots of the envelope, or the one shot itself. */
function shotsOf(body: unknown): readonly unknown[] {
  if (typeof body !== 'object' || body === null || Array.isArray(body)) {
    const wrong = fault('structure-invalid', '', body, 'one shot, or an object with a list of shots named shots');
    throw new Refusal('request-invalid', 'The body is not an object.', { faults: [wrong] });
  }
  if (!('shots' in body)) return [body];
  const { shots, ...rest } = body;
  const unknown = Object.keys(rest)[0];
  if (unknown !== undefined) {
    const wrong = fault('structure-invalid', `/${unknown}`, unknown, 'only shots beside shots');
    throw new Refusal('request-invalid', 'The body holds more than shots.', { faults: [wrong] });
  }
  if (!Array.isArray(shots)) {
    const wrong = fault('structure-invalid', '/shots', shots, 'a list of shots');
    throw new Refusal('request-invalid', 'shots is not a list.', { faults: [wrong] });
  }
  return shots;
}

/**
 * Shots of a JSON body in the order sent. Pointers of faults start at the shot, whose position says which one it is.
 *
 * @throws Refusal body-too-large, malformed-body, request-invalid
 */
export async function* readJson(chunks: AsyncIterable<Uint8Array>, jsonBytes: number): AsyncGenerator<SentShot> {
  const pieces: Uint8Array[] = [];
  for await (const chunk of limitBytes(chunks, jsonBytes, `${lineByLine}, which may be longer.`)) pieces.push(chunk);
  const shots = shotsOf(parse(decodeUtf8(Buffer.concat(pieces), 'The body')));
  for (const [index, value] of shots.entries()) {
    yield { position: index + 1, row: null, columns: null, value, faults: [] };
  }
}
