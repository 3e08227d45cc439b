/** Ball speed off the tip: from the ball track when there is one, else as the lab measured it. */
import type { Estimate } from '../../shared/estimate.ts';
import type { Shot } from '../../shared/shot.ts';
import type { ComparedValue } from './compare-reported.ts';
import { convertOptional } from './convert-measure.ts';
import type { BallReading } from './derive-ball.ts';
import type { DerivedOutcome } from './derive-outcome.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import type { SettledGear } from './settle-gear.ts';

/** Relative standard uncertainty assumed of a ball speed that came without one (common practice, no source). */
export const assumedBallSpeedUncertainty = 0.02;

/** Both, in m/s; the one from the track is to be used when there is one. */
export function deriveBallSpeed(
  shot: Shot,
  reading: BallReading | null,
  gear: SettledGear,
): { readonly fromTrack: Estimate | null; readonly fromLab: Estimate | null } {
  const sent = convertOptional(shot.ballSpeed, 'ballSpeed', gear.context);
  const ball = reading?.ball;
  return {
    fromTrack: ball?.read === true ? ball.ballSpeed : null,
    fromLab: sent === null ? null : normalEstimate(sent, Math.abs(sent) * assumedBallSpeedUncertainty),
  };
}

/** The lab's ball speed and outcome distance against those of the ball track. */
export function compareBall(speed: ReturnType<typeof deriveBallSpeed>, outcome: DerivedOutcome): ComparedValue[] {
  const line = (quantity: ComparedValue['quantity'], own: Estimate | null, ours: Estimate | null): ComparedValue[] => {
    if (own === null || ours === null) return [];
    const combinedUncertainty = rootSumSquares(own.standardUncertainty, ours.standardUncertainty);
    return [{ quantity, reported: own.value, recomputed: ours.value, combinedUncertainty }];
  };
  return [
    ...line('ballSpeed', speed.fromLab, speed.fromTrack),
    ...line('outcomeDistance', outcome.labDistance, outcome.distance),
  ];
}
