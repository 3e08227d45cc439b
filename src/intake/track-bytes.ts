/** The track of a shot as exact bytes, and back. */
import { createHash } from 'node:crypto';
import type { CueTrack } from '../../shared/shot.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import { givenFrames } from './track-frames.ts';

/** Little-endian float64 as sent; frames counted from a first frame are written out. */
export interface EncodedTrack {
  readonly unit: string;
  readonly points: number;
  readonly positions: Uint8Array;
  readonly frames: Uint8Array | null;
  readonly times: Uint8Array | null;
  readonly timeUnit: string | null;
}

/** Exact bytes of numbers; minus zero becomes zero, because no text of a number keeps its sign. */
export function encodeDoubles(values: readonly number[]): Uint8Array {
  const bytes = new Uint8Array(8 * values.length);
  const view = new DataView(bytes.buffer);
  for (const [index, value] of values.entries()) view.setFloat64(8 * index, value === 0 ? 0 : value, true);
  return bytes;
}

export function decodeDoubles(bytes: Uint8Array): number[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Array.from({ length: bytes.byteLength / 8 }, (_, index) => view.getFloat64(8 * index, true));
}

/** @param track with unit codes after aliasing */
export function encodeTrack(track: CueTrack): EncodedTrack {
  const frames = givenFrames(track);
  return {
    unit: track.unit,
    points: track.positions.length,
    positions: encodeDoubles(track.positions),
    frames: frames === null ? null : encodeDoubles(frames),
    times: track.times === undefined ? null : encodeDoubles(track.times.values),
    timeUnit: track.times?.unit ?? null,
  };
}

export function decodeTrack(encoded: EncodedTrack): CueTrack {
  const { unit, positions, frames, times, timeUnit } = encoded;
  return {
    unit,
    positions: decodeDoubles(positions),
    ...(frames === null ? {} : { frames: decodeDoubles(frames) }),
    ...(times === null || timeUnit === null ? {} : { times: { unit: timeUnit, values: decodeDoubles(times) } }),
  };
}

/** SHA-256 in hexadecimal of units, kinds of lists present and their bytes: the same track has the same hash. */
export function trackHash({ unit, points, positions, frames, times, timeUnit }: EncodedTrack): string {
  const head = canonicalJson({ unit, points, frames: frames !== null, times: times !== null, timeUnit });
  const hash = createHash('sha256').update(`${head}\n`).update(positions);
  if (frames !== null) hash.update(frames);
  if (times !== null) hash.update(times);
  return hash.digest('hex');
}
