/** Outcomes that rails, pockets and hands do not censor, as far as the derivation holds them. */
import type { DerivedShot } from '../../shared/derivation.ts';

/** Half a pool ball, m: within it of the place of the impact the cue ball stopped. The migration has the same figure. */
const stopBand = 0.028575;
/** s after the ball-ball impact. */
const earlyTime = 0.5;

/**
 * -1 draw, 0 stop, 1 follow. A bound beyond the stop band settles the class, since the ball had come that far; one within
 * it does not.
 */
export function outcomeClass({ outcomeDistance, outcomeBound }: DerivedShot): number | null {
  if (outcomeDistance !== null) {
    return Math.abs(outcomeDistance.value) <= stopBand ? 0 : Math.sign(outcomeDistance.value);
  }
  if (outcomeBound === null || !(Math.abs(outcomeBound) > stopBand)) return null;
  return Math.sign(outcomeBound);
}

/** Distance half a second after the impact, m, between the times at which the ball track gives it; null beyond them. */
export function earlyOutcomeDistance({ ball }: DerivedShot): number | null {
  if (ball === null || !ball.read) return null;
  const samples = ball.outcomeOverTime;
  const next = samples.findIndex(({ time }) => time >= earlyTime);
  const after = samples[next];
  if (after === undefined) return ball.ended === 'atRest' ? (samples.at(-1)?.distance ?? null) : null;
  const before = samples[next - 1] ?? after;
  if (after.time === before.time) return after.distance;
  const share = (earlyTime - before.time) / (after.time - before.time);
  return before.distance + share * (after.distance - before.distance);
}
