/** Labels and tracks met so far in one submission: the only memory that grows with it. */

import { fault } from '../../shared/fault.ts';
import type { Fault } from '../../shared/problems.ts';

export class SeenInSubmission {
  readonly #labels = new Set<string>();
  readonly #tracks = new Map<string, string>();

  /** Fault: label-duplicate on the second shot of a label. */
  meetLabel(label: string | null): Fault[] {
    if (label === null) return [];
    if (!this.#labels.has(label)) {
      this.#labels.add(label);
      return [];
    }
    return [fault('label-duplicate', '/label', label, 'a label that occurs once in the submission')];
  }

  /** Fault: track-duplicate when another label of this submission has the very same track. */
  meetTrack(hash: string | null, label: string): Fault[] {
    if (hash === null) return [];
    const earlier = this.#tracks.get(hash);
    if (earlier === undefined) {
      this.#tracks.set(hash, label);
      return [];
    }
    return earlier === label ? [] : [trackDuplicate(earlier)];
  }
}

/** @param earlier label of the shot that has the track already */
export function trackDuplicate(earlier: string): Fault {
  return fault(
    'track-duplicate',
    '/cueTrack',
    `the track of shot ${earlier}`,
    'a track that no other shot of the lab has',
  );
}
