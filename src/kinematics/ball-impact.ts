/** The ball-ball impact where two stretches of a ball track meet, and the distances that count from it. */
import { type BallSegment, combinationVariance, phaseEnd, segmentAt } from './fit-ball-segment.ts';
import { fromParts, type Uncertain, type VariancePart } from './uncertain.ts';

export interface ImpactFit {
  /** s on the clock of the track. */
  readonly time: Uncertain;
  /** m on the track. */
  readonly place: Uncertain;
  /** m/s just before; null when the film shows too little of the way there. */
  readonly arrivalSpeed: Uncertain | null;
  /** m/s just after, signed. */
  readonly speedAfter: Uncertain;
  /** Share of d x1 (stretch before) and of d x2 (after) in the error of the place. */
  readonly shares: { readonly before: number; readonly after: number };
  /** Standard deviation of the place from a declared instant, m; 0 when the curves give it. */
  readonly declared: number;
}

export interface TimedDistance {
  /** m from the impact. */
  readonly distance: Uncertain;
  /** s. */
  readonly time: number;
  readonly timeUncertainty: number;
}

const knownExactly = 1e6;

/**
 * @param near rough time of the impact, s
 * @param halfWidth half the frame in which the impact was seen, s; null when it was not declared
 * @returns null when the curves do not meet there and nothing was declared
 */
export function impactOf(
  before: BallSegment | null,
  after: BallSegment | null,
  near: number,
  halfWidth: number | null,
): ImpactFit | null {
  if (after === null) return null;
  if (before !== null) {
    const met = meeting(before, after, near);
    if (met !== null) return met;
  }
  if (halfWidth === null) return null;
  const at = segmentAt(after, near);
  const late = halfWidth / Math.sqrt(3);
  const declared = Math.abs(at.slope) * late;
  return {
    time: { value: near, standardUncertainty: late, degrees: knownExactly },
    place: fromParts(at.value, [
      part(after, at.valueGradient),
      { variance: declared * declared, degrees: knownExactly },
    ]),
    arrivalSpeed: null,
    speedAfter: fromParts(at.slope, [part(after, at.slopeGradient)]),
    shares: { before: 0, after: 1 },
    declared,
  };
}

function part(segment: BallSegment, gradient: Float64Array): VariancePart {
  return { variance: combinationVariance(segment, gradient), degrees: segment.degrees };
}

function scaled(gradient: Float64Array, factor: number): Float64Array {
  return gradient.map((value) => value * factor);
}

function added(a: Float64Array, b: Float64Array, factor: number): Float64Array {
  return a.map((value, k) => value + factor * (b[k] as number));
}

function meeting(before: BallSegment, after: BallSegment, near: number): ImpactFit | null {
  let time = near;
  const interval = (2 * before.halfWidth) / (before.points - 1);
  for (let step = 0; step < 30; step += 1) {
    const one = segmentAt(before, time);
    const two = segmentAt(after, time);
    const closing = one.slope - two.slope;
    if (!(closing > 0)) return null;
    const change = (two.value - one.value) / closing;
    time += change;
    if (!(Math.abs(time - near) <= 4 * interval)) return null;
  }
  const one = segmentAt(before, time);
  const two = segmentAt(after, time);
  const closing = one.slope - two.slope;
  if (!(one.slope > 0 && closing > 0)) return null;
  const byBefore = -1 / closing;
  const byAfter = 1 / closing;
  const shares = { before: -two.slope / closing, after: one.slope / closing };
  return {
    time: fromParts(time, [
      part(before, scaled(one.valueGradient, byBefore)),
      part(after, scaled(two.valueGradient, byAfter)),
    ]),
    place: fromParts(two.value, [
      part(before, scaled(one.valueGradient, shares.before)),
      part(after, scaled(two.valueGradient, shares.after)),
    ]),
    arrivalSpeed: fromParts(one.slope, [
      part(before, added(one.slopeGradient, one.valueGradient, one.curvature * byBefore)),
      part(after, scaled(two.valueGradient, one.curvature * byAfter)),
    ]),
    speedAfter: fromParts(two.slope, [
      part(before, scaled(one.valueGradient, two.curvature * byBefore)),
      part(after, added(two.slopeGradient, two.valueGradient, two.curvature * byAfter)),
    ]),
    shares,
    declared: 0,
  };
}

/** Distance from the impact to a place of the later stretch, whose gradient is given. */
function distanceTo(
  place: number,
  gradient: Float64Array,
  before: BallSegment | null,
  after: BallSegment,
  impact: ImpactFit,
): Uncertain {
  const { time, shares, declared } = impact;
  const atAfter = segmentAt(after, time.value).valueGradient;
  const parts = [
    part(after, added(gradient, atAfter, -shares.after)),
    { variance: declared * declared, degrees: knownExactly },
  ];
  if (before !== null && shares.before !== 0) {
    parts.push(part(before, scaled(segmentAt(before, time.value).valueGradient, shares.before)));
  }
  return fromParts(place - impact.place.value, parts);
}

/** Signed distance from impact to rest, and the time of rest, s; null when the ball is not seen to come to rest. */
export function restingPlace(before: BallSegment | null, after: BallSegment, impact: ImpactFit): TimedDistance | null {
  if (!after.form.rest) return null;
  const { time, standardUncertainty } = phaseEnd(after, 1);
  return { distance: distanceAt(time, before, after, impact), time, timeUncertainty: standardUncertainty };
}

/** Signed distance from the impact at an instant after it. */
export function distanceAt(time: number, before: BallSegment | null, after: BallSegment, impact: ImpactFit): Uncertain {
  const at = segmentAt(after, time);
  return distanceTo(at.value, at.valueGradient, before, after, impact);
}

/** Where a ball that first goes on comes back (or the other way round), within `end` s; null when it does not turn. */
export function turningPoint(
  before: BallSegment | null,
  after: BallSegment,
  impact: ImpactFit,
  end: number,
): TimedDistance | null {
  const bend = after.form.broken ? after.centre + after.halfWidth * (after.parameters[4] as number) : end;
  let early = impact.time.value;
  let late = Math.min(bend, end);
  const first = segmentAt(after, early).slope;
  // Friction turns a ball only while it slides, and only once.
  if (!(first * segmentAt(after, late).slope < 0)) return null;
  for (let step = 0; step < 60; step += 1) {
    const middle = (early + late) / 2;
    if (segmentAt(after, middle).slope * first > 0) early = middle;
    else late = middle;
  }
  const time = (early + late) / 2;
  const at = segmentAt(after, time);
  // Where the slope is zero: its error over how fast it changes, and that of the impact from which the time counts.
  const ofSlope = combinationVariance(after, at.slopeGradient) / (at.curvature * at.curvature);
  const ofImpact = impact.time.standardUncertainty * impact.time.standardUncertainty;
  return {
    distance: distanceTo(at.value, at.valueGradient, before, after, impact),
    time: time - impact.time.value,
    timeUncertainty: Math.sqrt(ofSlope + ofImpact),
  };
}
