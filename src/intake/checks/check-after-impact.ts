/**
 * What cue and ball do after the impact, where the lab gave the speed of the ball and the track of the cue goes on: the
 * tip cannot move into the ball, and both together cannot have more energy than the cue brought.
 *
 *   V' <= v k,   M V'^2 + m k v^2 <= M V^2,   k = 1 + (5/2)(b/R)^2
 *
 * with V and V' the speed of the cue before and after, v that of the ball (level cue, one rigid impulse; derived). Unlike
 * the bounds of restitution this needs no balance of momentum, so that it finds a mass or a scale that is wrong.
 */
import type { DerivedShot } from '../../../shared/derivation.ts';
import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { siFactors } from '../../../shared/units.ts';
import { convertOptional } from '../../derivation/convert-measure.ts';
import { brief } from '../../derivation/derived-fault.ts';
import type { UsedGear } from '../../derivation/gear.ts';
import { notOneImpulse, speedUncertainty } from '../../derivation/judge-restitution.ts';
import type { SettledGear } from '../../derivation/settle-gear.ts';
import { derivativesAt, fitPolynomial } from '../../kinematics/fit-polynomial.ts';
import { offsetFactor } from '../../physics/cue-impact.ts';
import { trackFrames } from '../track-frames.ts';

/** Track after the contact that is looked at, s; longer where the frames are few, to hold `leastPoints`. */
const window = 0.003;
const longestWindow = 0.01;
const leastPoints = 5;
/** In standard uncertainties, each towards what is possible. */
const tolerance = 3;

interface CueAfter {
  /** m/s. */
  readonly speed: number;
  readonly standardUncertainty: number;
  /** Speed that the hand may have added since the contact began, m/s. */
  readonly byHand: number;
}

/** Speed of the cue in the first frames after the contact: slope of a line. Null where the track does not tell it. */
function cueAfter({ cueTrack, contact }: Shot, gear: SettledGear): CueAfter | null {
  const { closedFrame, openFrame } = contact ?? {};
  if (cueTrack === undefined || closedFrame === undefined || openFrame === undefined) return null;
  const frames = trackFrames(cueTrack, gear.captureRate);
  const from = frames?.findIndex((frame) => frame >= openFrame) ?? -1;
  if (frames === null || from === -1) return null;
  const seconds = (frame: number): number => (frame - openFrame) / gear.captureRate;
  let to = from;
  while (to < frames.length && seconds(frames[to] ?? 0) <= (to - from < leastPoints ? longestWindow : window)) to += 1;
  if (to - from < leastPoints) return null;
  const { multiplier, divisor } = siFactors(cueTrack.unit, 'cuePosition', gear.context);
  const sign = gear.rig.positiveTowardsBall ? 1 : -1;
  const times = Float64Array.from(frames.slice(from, to), seconds);
  const origin = cueTrack.positions[from] ?? 0;
  const positions = Float64Array.from(
    cueTrack.positions.slice(from, to),
    (position) => (sign * (position - origin) * multiplier) / divisor,
  );
  const fit = fitPolynomial(times, positions, 1);
  const { values, covariance } = derivativesAt(fit, fit.centre, 1);
  const elapsed = fit.centre + (openFrame - closedFrame) / gear.captureRate;
  return {
    speed: values[1] ?? 0,
    standardUncertainty: Math.sqrt(covariance[3] ?? 0),
    byHand: elapsed * quantities.cueAcceleration.usual.max,
  };
}

/** Faults: limit-exceeded at the ball speed. `derived` is what the active method computed from the shot. */
export function checkAfterImpact(shot: Shot, used: UsedGear, gear: SettledGear, derived: DerivedShot): Fault[] {
  const { cueSpeed, tipOffset } = derived;
  const ballSpeed = convertOptional(shot.ballSpeed, 'ballSpeed', gear.context);
  if (ballSpeed === null || cueSpeed === null || tipOffset === null || derived.source !== 'track') return [];
  if (shot.labFlags.some((flag) => notOneImpulse.has(flag))) return [];
  const after = cueAfter(shot, gear);
  if (after === null) return [];
  const found = `${brief(after.speed)} m/s of the cue after the contact, beside a ball of ${brief(ballSpeed)} m/s`;
  const least = after.speed - after.byHand - tolerance * after.standardUncertainty;
  const offset = Math.abs(tipOffset.value);
  const slack = tolerance * tipOffset.standardUncertainty;
  const fastestBall = ballSpeed * (1 + tolerance * speedUncertainty);
  const parting = fastestBall * offsetFactor(offset + slack);
  if (least > parting) {
    const expected = `a cue no faster than the point of the ball that it leaves, ${brief(parting)} m/s`;
    return [fault('limit-exceeded', '/ballSpeed/value', found, expected, remedy)];
  }
  const ballMass = convertOptional(used.table?.content.ballMass, 'ballMass', gear.context);
  if (ballMass === null || gear.cueMass === null || least <= 0) return [];
  const slowestBall = ballSpeed * (1 - tolerance * speedUncertainty);
  const ballShare = (ballMass / gear.cueMass) * offsetFactor(Math.max(0, offset - slack)) * slowestBall * slowestBall;
  const fastestCue = cueSpeed.value + tolerance * cueSpeed.standardUncertainty;
  const ratio = (least * least + ballShare) / (fastestCue * fastestCue);
  if (ratio <= 1) return [];
  const expected = `no more energy after the contact than the cue brought at ${brief(cueSpeed.value)} m/s; it is at least ${brief(ratio)} of it`;
  return [fault('limit-exceeded', '/ballSpeed/value', found, expected, remedy)];
}

const remedy =
  'Check the unit of the ball speed, the masses of cue and ball, the scale, and the frame in which the gap opens; mark pushes and double hits in labFlags.';
