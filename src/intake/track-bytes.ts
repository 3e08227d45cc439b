/** A track of a shot as exact bytes, and back. */
import { createHash } from 'node:crypto';
import { canonicalJson } from '../pooling/canonical.ts';
import type { TrackPoints } from './track-frames.ts';

export const trackKinds = ['cue', 'ball'] as const;
export type TrackKind = (typeof trackKinds)[number];

/** Little-endian float64 as sent. */
export interface EncodedTrack {
  readonly unit: string;
  readonly points: number;
  readonly positions: Uint8Array;
  /** Null without frame numbers, and where they count on from `firstFrame`. */
  readonly frames: Uint8Array | null;
  /** Of frames without a gap, however they were sent. */
  readonly firstFrame: number | null;
  readonly times: Uint8Array | null;
  readonly timeUnit: string | null;
  /** In the unit of the positions; NaN where the gap was not tracked. Null when it was tracked nowhere. */
  readonly gaps: Uint8Array | null;
}

/** The lists of a track that are bytes, in the order in which they are spooled. */
export const trackLists = ['positions', 'frames', 'times', 'gaps'] as const;

/** The one pattern of NaN that is stored: engines may write others. */
const missingHigh = 0x7ff80000;

/** Exact bytes of numbers; minus zero becomes zero, because no text of a number keeps its sign. */
export function encodeDoubles(values: readonly (number | null)[]): Uint8Array {
  const bytes = new Uint8Array(8 * values.length);
  const view = new DataView(bytes.buffer);
  for (let index = 0; index < values.length; index++) {
    const value = values[index] as number | null;
    if (value === null) view.setUint32(8 * index + 4, missingHigh, true);
    else view.setFloat64(8 * index, value === 0 ? 0 : value, true);
  }
  return bytes;
}

function countedFrames(firstFrame: number, points: number): number[] {
  const frames: number[] = [];
  frames.length = points;
  for (let index = 0; index < points; index++) frames[index] = firstFrame + index;
  return frames;
}

/** The first frame when there is one for each point and every other one follows on the one before it, else null. */
function firstOfCounted(frames: readonly number[], points: number): number | null {
  const [first] = frames;
  if (first === undefined || frames.length !== points) return null;
  return frames.every((frame, index) => frame === first + index) ? first : null;
}

export function decodeDoubles(bytes: Uint8Array): number[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Array.from({ length: bytes.byteLength / 8 }, (_, index) => view.getFloat64(8 * index, true));
}

/** Doubles of which some may be missing. */
export function decodeSparse(bytes: Uint8Array): (number | null)[] {
  return decodeDoubles(bytes).map((value) => (Number.isNaN(value) ? null : value));
}

/** @param track with unit codes after aliasing */
export function encodeTrack(track: TrackPoints): EncodedTrack {
  const points = track.positions.length;
  const { frames } = track;
  const firstFrame = frames === undefined ? (track.firstFrame ?? null) : firstOfCounted(frames, points);
  return {
    unit: track.unit,
    points,
    positions: encodeDoubles(track.positions),
    frames: frames === undefined || firstFrame !== null ? null : encodeDoubles(frames),
    firstFrame,
    times: track.times === undefined ? null : encodeDoubles(track.times.values),
    timeUnit: track.times?.unit ?? null,
    gaps: track.gaps?.some((gap) => gap !== null) === true ? encodeDoubles(track.gaps) : null,
  };
}

/** Frame number of each point, written out; null without any. */
export function decodeFrames({
  frames,
  firstFrame,
  points,
}: Pick<EncodedTrack, 'frames' | 'firstFrame' | 'points'>): number[] | null {
  if (firstFrame !== null) return countedFrames(firstFrame, points);
  return frames === null ? null : decodeDoubles(frames);
}

export function decodeTrack(encoded: EncodedTrack): TrackPoints {
  const { unit, positions, times, timeUnit, gaps } = encoded;
  const frames = decodeFrames(encoded);
  return {
    unit,
    positions: decodeDoubles(positions),
    ...(frames === null ? {} : { frames }),
    ...(times === null || timeUnit === null ? {} : { times: { unit: timeUnit, values: decodeDoubles(times) } }),
    ...(gaps === null ? {} : { gaps: decodeSparse(gaps) }),
  };
}

/**
 * SHA-256 in hexadecimal of units, kinds of lists present and their bytes, frame numbers written out: the same track has
 * the same hash.
 */
export function trackHash(track: EncodedTrack): string {
  const { unit, points, timeUnit, firstFrame } = track;
  const frames = firstFrame === null ? track.frames : encodeDoubles(countedFrames(firstFrame, points));
  const present = { frames: frames !== null, times: track.times !== null };
  const gaps = track.gaps === null ? {} : { gaps: true };
  const hash = createHash('sha256').update(`${canonicalJson({ unit, points, timeUnit, ...present, ...gaps })}\n`);
  for (const bytes of [track.positions, frames, track.times, track.gaps]) {
    if (bytes !== null) hash.update(bytes);
  }
  return hash.digest('hex');
}
