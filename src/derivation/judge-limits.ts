/** Derived values against the hard and usual limits of the dictionary. */
import type { Estimate } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import { quantities } from '../../shared/quantities.ts';
import { brief, derivedFault } from './derived-fault.ts';
import { diagnoseRate, type RateQuantity } from './diagnose-rate.ts';
import type { SettledGear } from './settle-gear.ts';

export interface Judgement {
  /** The estimate, or null when it says nothing (its value is impossible but its interval reaches what is possible). */
  readonly kept: Estimate | null;
  readonly fault: Fault | null;
  readonly unusual: boolean;
}

/**
 * Impossible with 95 % confidence is a fault: `rate-confusion` when the rates of the rig explain it, else
 * `limit-exceeded`. An impossible value whose interval reaches into the limits is not resolved by this film: no value.
 */
export function judgeLimits(
  quantity: RateQuantity,
  estimate: Estimate | null,
  pointer: string,
  gear: SettledGear,
): Judgement {
  if (estimate === null) return { kept: null, fault: null, unusual: false };
  const { hard, usual, label, siUnit } = quantities[quantity];
  const { value, lower, upper } = estimate;
  if (value >= hard.min && value <= hard.max) {
    return { kept: estimate, fault: null, unusual: value < usual.min || value > usual.max };
  }
  if (upper >= hard.min && lower <= hard.max) return { kept: null, fault: null, unusual: false };
  const remedy = diagnoseRate(quantity, value, gear);
  const found = `${label} ${brief(value)} ${siUnit}`;
  const expected = `${brief(hard.min)} to ${brief(hard.max)} ${siUnit}`;
  const fault =
    remedy === null
      ? derivedFault('limit-exceeded', pointer, found, expected, limitRemedy(quantity))
      : derivedFault('rate-confusion', pointer, found, expected, remedy);
  return { kept: null, fault, unusual: false };
}

function limitRemedy(quantity: RateQuantity): string {
  return quantity === 'contactTime'
    ? 'Check the contact frames and the capture rate of the rig.'
    : 'Check the unit of the track, the scale and the capture rate of the rig, and the frame of first contact.';
}
