/** The lab's own values in SI, with a standard uncertainty that the service assumes for them. */
import type { Shot } from '../../shared/shot.ts';
import type { ComparedQuantity } from './compare-reported.ts';
import { convertOptional } from './convert-measure.ts';
import { rootSumSquares } from './estimate.ts';
import type { SettledGear } from './settle-gear.ts';

export interface ReportedValue {
  readonly value: number;
  readonly standardUncertainty: number;
}
export type ReportedValues = Readonly<Record<ComparedQuantity, ReportedValue | null>>;

/**
 * Summary values come without uncertainties. Assumed: speed 2 %; acceleration 25 % and at least 2 m/s2 (it is the
 * fragile one); contact time 5 %, and the u = dt/sqrt(6) of a frame count at the rig's capture rate; tip offset 0.03.
 * Common practice, no source; meant to be too wide rather than too narrow.
 */
export function takeReported(reported: Shot['reported'], gear: SettledGear): ReportedValues {
  const { context } = gear;
  const speed = convertOptional(reported?.cueSpeed, 'cueSpeed', context);
  const acceleration = convertOptional(reported?.cueAcceleration, 'cueAcceleration', context);
  const contactTime = convertOptional(reported?.contactTime, 'contactTime', context);
  const tipOffset = convertOptional(reported?.tipOffset, 'tipOffset', context);
  return {
    cueSpeed: take(speed, Math.abs(speed ?? 0) * 0.02),
    cueAcceleration: take(acceleration, Math.max(2, Math.abs(acceleration ?? 0) * 0.25)),
    contactTime: take(contactTime, rootSumSquares((contactTime ?? 0) * 0.05, 1 / (gear.captureRate * Math.sqrt(6)))),
    tipOffset: take(tipOffset, 0.03),
  };
}

function take(value: number | null, standardUncertainty: number): ReportedValue | null {
  return value === null ? null : { value, standardUncertainty };
}
