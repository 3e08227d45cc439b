/** Whether an impossible value comes from taking the playback rate of a file for the capture rate, or the reverse. */
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import { brief } from './derived-fault.ts';
import type { SettledGear } from './settle-gear.ts';

/** Power of the capture rate in each derived value. */
const ratePowers = { cueSpeed: 1, cueAcceleration: 2, contactTime: -1 } as const satisfies Partial<
  Record<QuantityName, number>
>;
export type RateQuantity = keyof typeof ratePowers;

/** Rates at which files usually play, frames/s; the 1000/1001 rates lie within the tolerance. */
const usualPlaybackRates = [24, 25, 30, 50, 60];
const rateTolerance = 0.002;
/** A rate given wrongly is off by a large factor; less than this is something else. */
const leastFactor = 4;

/**
 * @returns a remedy that names the factor, or null when the rates do not explain the value. With a playback rate p
 *   the value must become usual with the capture rate times or divided by capture / p; without one, when the
 *   "capture" rate is a usual playback rate, with a higher capture rate.
 */
export function diagnoseRate(quantity: RateQuantity, value: number, gear: SettledGear): string | null {
  const { captureRate, playbackRate } = gear;
  if (playbackRate !== null) {
    const factor = captureRate / playbackRate;
    if (factor >= leastFactor) {
      if (isUsual(quantity, atRate(quantity, value, 1 / factor))) {
        return advice(
          `is about ${brief(factor)} times too high: the film was recorded at about the playback rate, ${brief(playbackRate)} frames/s`,
          captureRate,
        );
      }
      if (isUsual(quantity, atRate(quantity, value, factor))) {
        return advice(`is about ${brief(factor)} times too low: as if the times had been stretched twice`, captureRate);
      }
    }
  }
  if (usualPlaybackRates.some((rate) => Math.abs(captureRate / rate - 1) <= rateTolerance)) {
    const factor = neededFactor(quantity, value);
    if (factor !== null && factor >= leastFactor) {
      return advice(
        `is a rate at which files play; the value would be usual with one at least about ${Number(factor.toPrecision(2))} times higher`,
        captureRate,
      );
    }
  }
  return null;
}

function advice(what: string, captureRate: number): string {
  return `The capture rate of the rig, ${brief(captureRate)} frames/s, ${what}. Register a rig version with the rate of recording (read it from the camera, not from the file) and send the shot with it.`;
}

/** The value if the capture rate were `factor` times what the rig says. */
function atRate(quantity: RateQuantity, value: number, factor: number): number {
  const power = ratePowers[quantity];
  if (power === -1) return value / factor;
  return power === 1 ? value * factor : value * factor * factor;
}

function isUsual(quantity: RateQuantity, value: number): boolean {
  const { min, max } = quantities[quantity].usual;
  return value >= min && value <= max;
}

/** Least factor on the capture rate that brings the value into the usual range; null when a higher rate does not. */
function neededFactor(quantity: RateQuantity, value: number): number | null {
  const { min, max } = quantities[quantity].usual;
  if (quantity === 'contactTime' && value > max) return value / max;
  if (quantity === 'cueSpeed' && value > 0 && value < min) return min / value;
  return null;
}
