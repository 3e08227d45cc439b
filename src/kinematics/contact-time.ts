/**
 * Contact time from counted frames. Start and end of contact each fall uniformly within one frame interval dt, or
 * within m + 1 of them when m frames at that end are undecided, so with a flat prior the contact time is distributed
 *
 *   triangular about N dt on +-dt                                         (GUM 4.3.9, u = dt / sqrt(6) [from memory])
 *   trapezoidal about (N + (m_s + m_e) / 2) dt on +-(m_s + m_e + 2) dt / 2   with undecided frames
 *
 * N = certain contact frames. What the trimmed frames mean decides which holds (`correction`, `undecided`); `unknown`
 * takes the middle of the second and bounds that cover both. The exposure t_e shifts the count: "contact in any part of
 * the exposure" counts t_e too much, "in the whole exposure" t_e too little, an unknown criterion adds a rectangular
 * error of +-t_e (u = t_e / sqrt(3)).
 */
import { sumOfUniformsHalfWidth95 } from './sum-of-uniforms.ts';

export interface ContactTimeInput {
  /** Frames in contact before trimming. */
  readonly contactFrames: number;
  readonly trimmedStart: number;
  readonly trimmedEnd: number;
  readonly trimMeaning: 'correction' | 'undecided' | 'unknown';
  /** Frames per second. */
  readonly captureRate: number;
  /** s; null when not known, then no correction is made for it. */
  readonly exposure: number | null;
  readonly exposureCriterion: 'anyPartOfExposure' | 'wholeExposure' | 'unknown';
}

export interface ContactTime {
  /** False with fewer than two contact frames after trimming: the numbers are then bounds and no measurement. */
  readonly resolved: boolean;
  /** s. */
  readonly value: number;
  /** s. */
  readonly standardUncertainty: number;
  /** Ends of the 95 % interval, s, from the distribution itself. */
  readonly lower: number;
  readonly upper: number;
  /** The contact time cannot be outside these, s. */
  readonly least: number;
  readonly most: number;
  /** Frames left after trimming, over the capture rate, s: the bare count. */
  readonly counted: number;
}

/** Fewest contact frames after trimming from which a contact time is taken. */
const leastResolvedFrames = 2;

/** Derives the contact time. With zero frames it lies between 0 and one frame interval (mean dt/3 by a flat prior). */
export function contactTime(input: ContactTimeInput): ContactTime {
  const { trimmedStart, trimmedEnd, trimMeaning, captureRate } = input;
  const interval = 1 / captureRate;
  const trimmed = trimmedStart + trimmedEnd;
  const certain = Math.max(0, input.contactFrames - trimmed);
  const exposure = input.exposure ?? 0;
  const shift = exposureShift(input.exposureCriterion, exposure);
  const open = input.exposureCriterion === 'unknown' ? exposure : 0;
  const undecided = trimMeaning === 'correction' ? 0 : trimmed;

  if (certain === 0 && undecided === 0) return unresolvedContact(interval, shift, open);

  const value = (certain + undecided / 2) / captureRate + shift;
  const asUndecided = {
    start: ((trimMeaning === 'correction' ? 0 : trimmedStart) + 1) * (interval / 2),
    end: ((trimMeaning === 'correction' ? 0 : trimmedEnd) + 1) * (interval / 2),
  };
  const half = sumOfUniformsHalfWidth95(asUndecided.start, asUndecided.end, open);
  let variance = (asUndecided.start * asUndecided.start + asUndecided.end * asUndecided.end + open * open) / 3;
  let lower = value - half;
  let upper = value + half;
  if (trimMeaning === 'unknown' && undecided > 0) {
    // Either reading may hold: mean square error about the value when both are equally likely, and the wider interval.
    const bareValue = certain / captureRate + shift;
    const bareHalf = sumOfUniformsHalfWidth95(interval / 2, interval / 2, open);
    const bareVariance = (interval * interval) / 6 + (open * open) / 3;
    const gap = value - bareValue;
    variance = (variance + bareVariance + gap * gap) / 2;
    lower = Math.min(lower, bareValue - bareHalf);
    upper = Math.max(upper, bareValue + bareHalf);
  }
  return {
    resolved: certain >= leastResolvedFrames && value > 0,
    value,
    standardUncertainty: Math.sqrt(variance),
    lower: Math.max(0, lower),
    upper,
    least: Math.max(0, (certain - 1) / captureRate + shift - open),
    most: (certain + undecided + 1) / captureRate + shift + open,
    counted: certain / captureRate,
  };
}

function exposureShift(criterion: ContactTimeInput['exposureCriterion'], exposure: number): number {
  if (criterion === 'anyPartOfExposure') return -exposure;
  return criterion === 'wholeExposure' ? exposure : 0;
}

/** No frame shows contact: the density of the contact time falls linearly from 0 to one frame interval. */
function unresolvedContact(interval: number, shift: number, open: number): ContactTime {
  const value = Math.max(0, interval / 3 + shift);
  const most = Math.max(0, interval + shift) + open;
  return {
    resolved: false,
    value,
    standardUncertainty: Math.sqrt((interval * interval) / 18 + (open * open) / 3),
    lower: 0,
    upper: Math.max(value, Math.min(most, interval * (1 - Math.sqrt(0.05)) + shift + open)),
    least: 0,
    most,
    counted: 0,
  };
}
