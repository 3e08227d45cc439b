/** Labels met so far in one submission. */

import { fault } from '../../shared/fault.ts';
import type { Fault } from '../../shared/problems.ts';
import type { TrackKind } from './track-bytes.ts';

export class SeenInSubmission {
  readonly #labels = new Set<string>();

  /** Fault: label-duplicate on the second shot of a label. */
  meetLabel(label: string | null): Fault[] {
    if (label === null) return [];
    if (!this.#labels.has(label)) {
      this.#labels.add(label);
      return [];
    }
    return [fault('label-duplicate', '/label', label, 'a label that occurs once in the submission')];
  }
}

/** @param earlier label of the shot that has the track already */
export function trackDuplicate(kind: TrackKind, earlier: string): Fault {
  return fault(
    'track-duplicate',
    `/${kind}Track`,
    `the ${kind} track of shot ${earlier}`,
    'a track that no other shot of the lab has',
  );
}
