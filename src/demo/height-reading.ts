/**
 * How a tip offset looks in the film, by each lab's convention. The tip is a dome of radius rho on the axis of a round
 * shaft; dome and ball touch on the line of their centres. Everything is measured from the ball centre, z up, the cue
 * coming from -x with its axis pointing down by `elevation`.
 */
import cosine from '@stdlib/math-base-special-cos';
import sine from '@stdlib/math-base-special-sin';
import type { ShotInput } from '../../shared/shot.ts';
import type { HeightSetting } from './lab-model.ts';
import type { Random } from './random.ts';

export interface CueGeometry {
  /** Lever arm of the impulse over the ball radius, b/R. */
  readonly tipOffset: number;
  /** m. */
  readonly ballRadius: number;
  /** m. */
  readonly tipRadius: number;
  /** m. */
  readonly shaftRadius: number;
  /** Horizontal distance from the ball centre to the column where a shaft edge is read, m. */
  readonly station: number;
  /** rad. */
  readonly elevation: number;
}

/** Height of the shaft's axis and half its vertical thickness at the station, m. */
function shaftAtStation(cue: CueGeometry): { axis: number; half: number } {
  const slope = sine(cue.elevation) / cosine(cue.elevation);
  const axisDistance = cue.tipOffset * (cue.ballRadius + cue.tipRadius);
  return {
    axis: axisDistance / cosine(cue.elevation) + cue.station * slope,
    half: cue.shaftRadius / cosine(cue.elevation),
  };
}

/** Height of the point where tip and ball touch above the ball centre, m. */
export function contactHeight(cue: CueGeometry): number {
  // The line of centres makes the angle asin(b/R) with the cue axis, which itself falls by the elevation.
  const across = cue.tipOffset;
  const along = Math.sqrt(1 - across * across);
  return cue.ballRadius * (across * cosine(cue.elevation) + along * sine(cue.elevation));
}

/**
 * One reading as the lab writes it, with the observer's error.
 *
 * @param scaleError relative error of the lab's lengths: what is really 1 is written 1 / (1 + scaleError)
 */
export function readTipHeight(
  random: Random,
  setting: HeightSetting,
  cue: CueGeometry,
  scaleError: number,
): NonNullable<ShotInput['tipHeight']> {
  const measure = (height: number) => {
    const read = (height + random.normal(0, setting.noise)) / (1 + scaleError);
    const fromZero = setting.reference === 'cloth' ? read + cue.ballRadius / (1 + scaleError) : read;
    const sign = setting.positiveUp ? 1 : -1;
    return { value: written((sign * fromZero) / setting.unit.metres, setting.step), unit: setting.unit.unit };
  };
  const { axis, half } = shaftAtStation(cue);
  switch (setting.method) {
    case 'shaftTopEdge':
      return { method: 'shaftTopEdge', topEdge: measure(axis + half) };
    case 'shaftEdges':
      return { method: 'shaftEdges', topEdge: measure(axis + half), bottomEdge: measure(axis - half) };
    case 'contactMark':
      return { method: 'contactMark', height: measure(contactHeight(cue)) };
    case 'ring': {
      const read = contactHeight(cue) + random.normal(0, setting.noise);
      return {
        method: 'ring',
        ring: written(Math.abs(read) / (1 + scaleError) / setting.ringStep, setting.step),
        ringStep: { value: setting.ringStep / setting.unit.metres, unit: setting.unit.unit },
        side: read >= 0 ? 'above' : 'below',
      };
    }
  }
}

/** Rounds to a step of writing, without the noise digits that a product of decimals leaves. */
export function written(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(6));
}
