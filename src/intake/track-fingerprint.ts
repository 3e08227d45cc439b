/** By what a ball track is known again under another label. */
import { createHash } from 'node:crypto';
import { decodeDoubles, type EncodedTrack } from './track-bytes.ts';

/** A ball that hardly moves is tracked alike in many shots: only a track with so many different positions is its own. */
const leastDifferentPositions = 8;

/**
 * SHA-256 (hexadecimal) of the positions, whatever their frames are numbered from; null for no track, or one that says
 * too little to belong to one shot.
 */
export function ballTrackFingerprint(track: EncodedTrack | null): string | null {
  if (track === null || new Set(decodeDoubles(track.positions)).size < leastDifferentPositions) return null;
  return createHash('sha256').update(track.positions).digest('hex');
}
