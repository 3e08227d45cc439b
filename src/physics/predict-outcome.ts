/** The whole chain of a shot: impact of the cue, slide, full hit, outcome distance; by a named model of the impact. */
import type { BallMotion } from './ball-on-cloth.ts';
import { ballAfterImpulse, cueImpact } from './cue-impact.ts';
import { energyFractionImpact } from './energy-fraction-impact.ts';
import { expectedOutcome } from './outcome-distance.ts';

export interface OutcomeInputs {
  /** Cue speed, m/s; the ball speed itself for `measuredBallSpeed`. */
  readonly speed: number;
  readonly tipOffset: number;
  /** kg. */
  readonly cueMass: number;
  readonly ballMass: number;
  /** Of the object ball over the cue ball. */
  readonly massRatio: number;
  readonly tipRestitution: number;
  readonly slidingFriction: number;
  /** By deceleration. */
  readonly rollingResistance: number;
  readonly ballRestitution: number;
  readonly ballFriction: number;
  /** m. */
  readonly objectBallDistance: number;
}

export interface Prediction {
  readonly start: BallMotion;
  readonly arrival: BallMotion;
  /** m. */
  readonly outcomeDistance: number;
}

/** The spin follows from the tip offset alone, s = (5/2) v b/R; only the speed needs a model. */
function startOf(
  model: 'measuredBallSpeed' | 'constantRestitution' | 'constantEnergyFraction',
  { speed, tipOffset, cueMass, ballMass, tipRestitution }: OutcomeInputs,
): BallMotion | null {
  // The radius scales the spin rate only, which does not enter.
  const ball = { tipOffset, ballMass, ballRadius: 1 };
  if (model === 'measuredBallSpeed') {
    const { ballSpeed, surfaceSpin } = ballAfterImpulse(ballMass * speed, ball);
    return { speed: ballSpeed, surfaceSpin };
  }
  const input = { ...ball, cueSpeed: speed, cueMass, restitution: tipRestitution };
  const impact = model === 'constantRestitution' ? cueImpact(input) : energyFractionImpact(input);
  return impact === null ? null : { speed: impact.ballSpeed, surfaceSpin: impact.surfaceSpin };
}

/** Null when the model has no solution, or the cue ball does not reach the object ball. */
export function predictOutcome(
  model: Parameters<typeof startOf>[0],
  inputs: OutcomeInputs,
  { spinByMasses = false }: { readonly spinByMasses?: boolean } = {},
): Prediction | null {
  const start = startOf(model, inputs);
  if (start === null || !(start.speed > 0)) return null;
  const outcome = expectedOutcome(start, inputs.objectBallDistance, {
    slidingFriction: inputs.slidingFriction,
    rollingFriction: inputs.rollingResistance,
    ballRestitution: inputs.ballRestitution,
    ballFriction: inputs.ballFriction,
    cueBallMass: inputs.ballMass,
    objectBallMass: inputs.ballMass * inputs.massRatio,
    spinByMasses,
  });
  if (outcome === null) return null;
  return { start, arrival: outcome.arrival, outcomeDistance: outcome.outcomeDistance };
}
