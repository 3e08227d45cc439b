/** Friction from the accelerations of a ball track: sliding before the slide-to-roll break, rolling after it. */

import { segmentPoint } from './ball-segment.ts';
import { type BallSegment, combinationVariance } from './fit-ball-segment.ts';
import { combineIndependent, type Uncertain } from './uncertain.ts';

/** Deceleration of a ball, m/s2 and positive, by what it does. */
export interface Decelerations {
  readonly sliding: Uncertain | null;
  readonly rolling: Uncertain | null;
}

/** Between these a single phase cannot be told, m/s2: rolling stays below, sliding above (0.04 and 0.08 of gravity). */
const mostRolling = 0.39;
const leastSliding = 0.78;

/** The decelerations that one stretch shows. A stretch of one phase is taken for what its size and uncertainty allow. */
export function decelerations(segment: BallSegment): Decelerations {
  const { form, parameters, halfWidth } = segment;
  const square = halfWidth * halfWidth;
  const gradient = segmentPoint(form).valueGradient;
  gradient[2] = 2 / square;
  const roll = magnitude(segment, (2 * (parameters[2] as number)) / square, gradient);
  if (form.broken) {
    gradient[3] = 2 / square;
    const slide = (2 * ((parameters[2] as number) + (parameters[3] as number))) / square;
    return { sliding: magnitude(segment, slide, gradient), rolling: roll };
  }
  const margin = 2 * roll.standardUncertainty;
  if (roll.value - margin > leastSliding) return { sliding: roll, rolling: null };
  if (roll.value + margin < mostRolling && roll.value > margin) return { sliding: null, rolling: roll };
  return { sliding: null, rolling: null };
}

function magnitude(segment: BallSegment, value: number, gradient: Float64Array): Uncertain {
  return {
    value: Math.abs(value),
    standardUncertainty: Math.sqrt(combinationVariance(segment, gradient)),
    degrees: segment.degrees,
  };
}

/** Both stretches together: means weighted by inverse variance. */
export function combineDecelerations(stretches: readonly Decelerations[]): Decelerations {
  const of = (kind: keyof Decelerations) =>
    combineIndependent(stretches.map((stretch) => stretch[kind]).filter((found) => found !== null));
  return { sliding: of('sliding'), rolling: of('rolling') };
}
