/**
 * When first contact happened, from the first frame in which the gap looks closed and the frames trimmed after it.
 *
 * Contact that is first seen in frame k began in the frame interval before it: uniform over (k - 1, k), so k - 1/2 with
 * a standard uncertainty of 1/sqrt(12) frame. Trimmed frames move or widen this by their meaning (as for the contact
 * time): `correction`: the gap looked closed too early, contact began m frames later; `undecided`, `unknown`: anywhere
 * up to m frames later, uniform over m + 1 frame intervals.
 */
import type { RigContent } from '../../shared/gear.ts';

export interface FirstContact {
  /** Frame number, with a fraction. */
  readonly frame: number;
  /** Standard uncertainty in frames. */
  readonly standardUncertainty: number;
  /** Of its error: rectangular from whole frames, normal when extrapolated from the gap of tip and ball. */
  readonly shape: 'rectangular' | 'normal';
}

/** @param closedFrame first frame in which the gap looks closed; `trimmedStart` frames left out from it on */
export function firstContact(
  closedFrame: number,
  trimmedStart: number,
  trimMeaning: RigContent['trimMeaning'],
): FirstContact {
  if (trimMeaning === 'correction') {
    return { frame: closedFrame - 0.5 + trimmedStart, standardUncertainty: 1 / Math.sqrt(12), shape: 'rectangular' };
  }
  return {
    frame: closedFrame - 0.5 + trimmedStart / 2,
    standardUncertainty: (trimmedStart + 1) / Math.sqrt(12),
    shape: 'rectangular',
  };
}
