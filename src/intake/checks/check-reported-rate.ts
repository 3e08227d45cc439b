/**
 * The lab's own values against the recomputed ones, where they are off by about the ratio of capture to playback rate:
 * computed from the times of a file that plays slowly.
 */
import type { DerivedShot } from '../../../shared/derivation.ts';
import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { quantities } from '../../../shared/quantities.ts';
import type { Shot } from '../../../shared/shot.ts';
import { brief } from '../../derivation/derived-fault.ts';
import type { SettledGear } from '../../derivation/settle-gear.ts';

/** A rate given wrongly is off by a large factor; less than this may be anything. */
const leastFactor = 4;

/** Power of the rate in each value, and how near to it the value must come, as a ratio. */
const rates = {
  cueSpeed: { power: 1, nearness: 1.25 },
  cueAcceleration: { power: 2, nearness: 2 },
  contactTime: { power: -1, nearness: 1.25 },
} as const;

/** Value if it is computed with the capture rate after all. */
export function mendedRate(value: number, power: number, factor: number): number {
  if (power === -1) return value / factor;
  return power === 1 ? value * factor : value * factor * factor;
}

/** Faults: rate-confusion at the reported value. `derived` is what the active method computed from the shot. */
export function checkReportedRates({ reported }: Shot, gear: SettledGear, { compared }: DerivedShot): Fault[] {
  const { captureRate, playbackRate } = gear;
  const factor = playbackRate === null ? 1 : captureRate / playbackRate;
  if (playbackRate === null || factor < leastFactor) return [];
  return compared.flatMap(({ quantity, reported: own, recomputed }) => {
    if (quantity !== 'cueSpeed' && quantity !== 'cueAcceleration' && quantity !== 'contactTime') return [];
    const sent = reported?.[quantity];
    const { power, nearness } = rates[quantity];
    const ratio = mendedRate(own, power, factor) / recomputed;
    if (sent === undefined || !(ratio > 1 / nearness && ratio < nearness)) return [];
    const { siUnit } = quantities[quantity];
    const expected = `about ${brief(recomputed)} ${siUnit}, as recomputed from the film`;
    return [
      fault(
        'rate-confusion',
        `/reported/${quantity}/value`,
        `${sent.value} ${sent.unit}`,
        expected,
        rateRemedy(power, factor, gear),
      ),
    ];
  });
}

/** What to do about a value computed with the playback rate. */
export function rateRemedy(power: -1 | 1 | 2, factor: number, { captureRate, playbackRate }: SettledGear): string {
  const times = brief(power === 2 ? factor * factor : factor);
  const off = `It is about ${times} times too ${power === -1 ? 'long' : 'low'}`;
  const reason = `${power === 2 ? 'the square of ' : ''}the ratio of capture to playback rate`;
  return `${off}, ${reason}: compute it with the capture rate, ${captureRate} frames/s, not with the playback rate, ${playbackRate} frames/s.`;
}
