/** The measured cue-ball speed against the cue speed: what a rigid impulse with a restitution of 0 to 1 allows. */
import type { Estimate } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import { offsetFactor } from '../physics/cue-impact.ts';
import { convertOptional } from './convert-measure.ts';
import { brief, derivedFault } from './derived-fault.ts';
import { rootSumSquares } from './estimate.ts';
import type { UsedGear } from './gear.ts';
import type { SettledGear } from './settle-gear.ts';

export interface RestitutionJudgement {
  readonly fault: Fault | null;
  readonly unusual: boolean;
}

const silent: RestitutionJudgement = { fault: null, unusual: false };

/** A ball speed comes without uncertainty: 2 % is taken, as for other summary values (common practice, no source). */
export const speedUncertainty = 0.02;
/** Restitution of chalked leather and of hard tips (from memory). */
const usualRestitution = { min: 0.6, max: 0.9 };
/** In combined standard uncertainties. */
const tolerance = 3;
/** In these the tip gives the ball more, or less, than one clean impulse. */
export const notOneImpulse: ReadonlySet<Shot['labFlags'][number]> = new Set([
  'miscue',
  'doubleHit',
  'push',
  'airborne',
]);

/**
 * With k = 1 + (5/2)(b/R)^2 and r = m/M a restitution e gives v/V = (1 + e)/(k + r) (derived; `cue-impact.ts`), so that
 * e between 0 and 1 bounds the ratio. Beyond the bounds by more than three combined standard uncertainties is a fault
 * when both masses and the tip offset are known; otherwise only v/V <= 2, which holds for any masses and offset, is
 * judged. A restitution outside 0.6 to 0.9 is unusual.
 */
export function judgeRestitution(
  shot: Shot,
  { cueSpeed, tipOffset }: { readonly cueSpeed: Estimate | null; readonly tipOffset: Estimate | null },
  used: UsedGear,
  gear: SettledGear,
): RestitutionJudgement {
  const ballSpeed = convertOptional(shot.ballSpeed, 'ballSpeed', gear.context);
  if (ballSpeed === null || cueSpeed === null || !(cueSpeed.value > 0)) return silent;
  if (shot.labFlags.some((flag) => notOneImpulse.has(flag))) return silent;
  const ratio = ballSpeed / cueSpeed.value;
  const relative = rootSumSquares(speedUncertainty, cueSpeed.standardUncertainty / cueSpeed.value);
  const ballMass = convertOptional(used.table?.content.ballMass, 'ballMass', gear.context);
  if (ballMass === null || gear.cueMass === null || tipOffset === null) {
    const fault = ratio * (1 - tolerance * relative) > 2 ? impossible(shot, ratio, 0, 2, cueSpeed.value, gear) : null;
    return { fault, unusual: false };
  }
  const sum = offsetFactor(tipOffset.value) + ballMass / gear.cueMass;
  const all = rootSumSquares(relative, (5 * Math.abs(tipOffset.value) * tipOffset.standardUncertainty) / sum);
  const restitution = ratio * sum - 1;
  const slack = tolerance * ratio * sum * all;
  if (restitution < -slack || restitution > 1 + slack) {
    return { fault: impossible(shot, ratio, 1 / sum, 2 / sum, cueSpeed.value, gear), unusual: false };
  }
  const { min, max } = usualRestitution;
  return { fault: null, unusual: restitution < min - slack || restitution > max + slack };
}

function impossible(
  shot: Shot,
  ratio: number,
  least: number,
  most: number,
  cueSpeed: number,
  { captureRate, playbackRate }: SettledGear,
): Fault {
  const sent = shot.ballSpeed === undefined ? '' : `${brief(shot.ballSpeed.value)} ${shot.ballSpeed.unit}, `;
  const found = `${sent}${brief(ratio)} times the cue speed of ${brief(cueSpeed)} m/s`;
  const expected = `${brief(least)} to ${brief(most)} times the cue speed`;
  const factor = playbackRate === null ? 1 : captureRate / playbackRate;
  const corrected = ratio * factor;
  if (factor > 1 && corrected >= least && corrected <= most) {
    const remedy = `The ball speed is about ${brief(factor)} times too low, the ratio of capture to playback rate: compute it with the capture rate.`;
    return derivedFault('rate-confusion', '/ballSpeed', found, expected, remedy);
  }
  const remedy =
    'Check the unit of the ball speed, the masses of cue and ball, and the scale of the rig; mark double hits and pushes in labFlags.';
  return derivedFault('limit-exceeded', '/ballSpeed', found, expected, remedy);
}
