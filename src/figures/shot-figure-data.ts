/** What the figure of a shot draws: the track about first contact, the fit in its window and what it leaves. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { Shot } from '../../shared/shot.ts';
import type { UsedGear } from '../derivation/gear.ts';
import { scaleTrack } from '../derivation/scale-track.ts';
import { settleGear } from '../derivation/settle-gear.ts';
import { derivativesAt, fitPolynomial, type PolynomialFit } from '../kinematics/fit-polynomial.ts';
import { highestTrendDegree, trendCurve, trendValue } from '../statistics/trend-curve.ts';

export interface TrackPoint {
  /** ms relative to first contact. */
  readonly time: number;
  /** mm relative to the fitted place at first contact. */
  readonly position: number;
  readonly kind: 'fitted' | 'outlying' | 'before' | 'after';
}
export interface CurvePoint {
  /** ms. */
  readonly time: number;
  /** mm. */
  readonly position: number;
  /** m/s. */
  readonly speed: number;
  /** m/s2. */
  readonly acceleration: number;
}
export interface ResidualPoint {
  /** ms. */
  readonly time: number;
  /** um. */
  readonly residual: number;
  readonly outlying: boolean;
}
export interface SpeedPoint {
  /** ms. */
  readonly time: number;
  /** m/s. */
  readonly speed: number;
}
export interface StrokeFigureData {
  /** ms. */
  readonly window: number;
  readonly order: number;
  readonly points: readonly TrackPoint[];
  readonly curve: readonly CurvePoint[];
  readonly residuals: readonly ResidualPoint[];
  /** Speeds between means of neighbouring frames, straight from the track. */
  readonly blockSpeeds: readonly SpeedPoint[];
  /** Low-order trend of those, over the window; empty when they are too few. */
  readonly speedTrend: readonly SpeedPoint[];
}

/** More points than this are thinned evenly: a figure of 760 pixels shows no more. */
const mostPoints = 1200;
const curvePoints = 121;
/** Groups of neighbouring frames whose means give the speeds in between. */
const mostBlocks = 17;
const fewestInBlock = 2;
const milli = 1000;
const micro = 1_000_000;

/** Null without a fitted track. The curve is the order with the largest weight, fitted to the points that were kept. */
export function strokeFigureData(shot: Shot, gear: UsedGear, derived: DerivedShot): StrokeFigureData | null {
  const { fit, firstContact } = derived;
  const closedFrame = shot.contact?.closedFrame;
  if (shot.cueTrack === undefined || fit === null || firstContact === null || closedFrame === undefined) return null;
  const settled = settleGear(gear);
  const track = scaleTrack(shot.cueTrack, Number.POSITIVE_INFINITY, firstContact, settled);
  if (track === null) return null;

  const outlying = new Set(fit.outlyingFrames);
  const kindOf = (index: number): TrackPoint['kind'] => {
    const frame = track.frames[index] as number;
    if (frame >= closedFrame) return 'after';
    // The first point used lies at the very start of the window.
    if ((track.times[index] as number) < -fit.window * (1 + 1e-9)) return 'before';
    return outlying.has(frame) ? 'outlying' : 'fitted';
  };
  const kinds = Array.from(track.frames, (_, index) => kindOf(index));
  const isKept = (kind: TrackPoint['kind']) => kind === 'fitted' || (kind === 'outlying' && !fit.outlyingLeftOut);
  const kept = kinds.flatMap((kind, index) => (isKept(kind) ? [index] : []));
  if (kept.length <= fit.order) return null;
  const polynomial = fitPolynomial(
    Float64Array.from(kept, (index) => track.times[index] as number),
    Float64Array.from(kept, (index) => track.positions[index] as number),
    fit.order,
  );
  const origin = fittedValue(polynomial, 0);
  const shown = indicesToShow(track.times, fit.window);
  const blockSpeeds = speedsBetweenBlocks(
    kept.map((index) => ({ time: track.times[index] as number, position: track.positions[index] as number })),
  );
  return {
    window: fit.window * milli,
    order: fit.order,
    points: shown.map((index) => ({
      time: (track.times[index] as number) * milli,
      position: ((track.positions[index] as number) - origin) * milli,
      kind: kinds[index] as TrackPoint['kind'],
    })),
    curve: Array.from({ length: curvePoints }, (_, step) =>
      curveAt(polynomial, -fit.window * (1 - step / (curvePoints - 1)), origin),
    ),
    residuals: shown.flatMap((index) => {
      const kind = kinds[index];
      if (kind !== 'fitted' && kind !== 'outlying') return [];
      const time = track.times[index] as number;
      const residual = ((track.positions[index] as number) - fittedValue(polynomial, time)) * micro;
      return [{ time: time * milli, residual, outlying: kind === 'outlying' }];
    }),
    blockSpeeds,
    speedTrend: trendOfSpeeds(blockSpeeds, fit.order, fit.window * milli),
  };
}

function speedsBetweenBlocks(points: readonly { readonly time: number; readonly position: number }[]): SpeedPoint[] {
  const size = Math.max(fewestInBlock, Math.ceil(points.length / mostBlocks));
  const means = Array.from({ length: Math.floor(points.length / size) }, (_, block) => {
    const group = points.slice(block * size, (block + 1) * size);
    const mean = (field: 'time' | 'position') => group.reduce((sum, point) => sum + point[field], 0) / group.length;
    return { time: mean('time'), position: mean('position') };
  });
  return means.slice(1).map(({ time, position }, place) => {
    const before = means[place] as { readonly time: number; readonly position: number };
    return {
      time: ((time + before.time) / 2) * milli,
      speed: (position - before.position) / (time - before.time),
    };
  });
}

/** One degree below the fit, as its derivative has: a second way to the speed, for the eye. */
function trendOfSpeeds(speeds: readonly SpeedPoint[], order: number, window: number): SpeedPoint[] {
  const degree = Math.min(Math.max(1, order - 1), highestTrendDegree);
  const times = speeds.map(({ time }) => time);
  const curve =
    speeds.length < degree + 2
      ? null
      : trendCurve(
          times,
          speeds.map(({ speed }) => speed),
          degree,
        );
  if (curve === null) return [];
  return Array.from({ length: curvePoints }, (_, step) => {
    const time = -window * (1 - step / (curvePoints - 1));
    return { time, speed: trendValue(curve, time) };
  });
}

function fittedValue(polynomial: PolynomialFit, time: number): number {
  return derivativesAt(polynomial, time, 0).values[0] as number;
}

function curveAt(polynomial: PolynomialFit, time: number, origin: number): CurvePoint {
  const [position = 0, speed = 0, acceleration = 0] = derivativesAt(polynomial, time, 2).values;
  return { time: time * milli, position: (position - origin) * milli, speed, acceleration };
}

/** Points from a little before the window to a tenth of it after contact, thinned when they are many. */
function indicesToShow(times: Float64Array, window: number): number[] {
  const inside: number[] = [];
  for (let index = 0; index < times.length; index += 1) {
    const time = times[index] as number;
    if (time >= -1.15 * window && time <= 0.1 * window) inside.push(index);
  }
  const step = Math.ceil(inside.length / mostPoints);
  return inside.filter((_, place) => place % step === 0);
}

/** One frame about contact, and how it counts. */
export interface ContactFrame {
  readonly frame: number;
  readonly kind: 'open' | 'closed' | 'trimmed';
}

/** Frames about contact; counted from 1 when only their number was sent. Empty without a count, or with very many. */
export function contactFrames(shot: Shot): ContactFrame[] {
  const { contact } = shot;
  if (contact === undefined) return [];
  const { closedFrame, openFrame, countedFrames, trimmedStart, trimmedEnd } = contact;
  const counted = closedFrame !== undefined && openFrame !== undefined ? openFrame - closedFrame : countedFrames;
  if (counted === undefined || counted > 200) return [];
  const first = closedFrame ?? 1;
  const around = 3;
  return Array.from({ length: counted + 2 * around }, (_, place) => {
    const inside = place - around;
    const isClosed = inside >= 0 && inside < counted;
    const isTrimmed = isClosed && (inside < trimmedStart || inside >= counted - trimmedEnd);
    return { frame: first + inside, kind: isTrimmed ? 'trimmed' : isClosed ? 'closed' : 'open' };
  });
}
