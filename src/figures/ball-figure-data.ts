/** What the figure of a shot draws of its ball track: the places of the ball and the fitted motion. */
import type { Shot } from '../../shared/shot.ts';
import { fitBall } from '../derivation/derive-ball.ts';
import type { UsedGear } from '../derivation/gear.ts';
import { settleGear } from '../derivation/settle-gear.ts';
import { type BallSegment, segmentAt } from '../kinematics/fit-ball-segment.ts';

export interface BallPlace {
  /** s after the ball-ball impact, or of the film when there is none. */
  readonly time: number;
  /** m from the place of the impact, or from the first point. */
  readonly place: number;
}

export interface BallFigureData {
  readonly hasImpact: boolean;
  readonly points: readonly BallPlace[];
  /** The fitted motion, one line a stretch between blows. */
  readonly curves: readonly (readonly BallPlace[])[];
}

/** More points than this are thinned evenly. */
const mostPoints = 600;
const curvePoints = 101;

/** Null without a ball track that could be read. */
export function ballFigureData(shot: Shot, gear: UsedGear): BallFigureData | null {
  if (shot.ballTrack === undefined) return null;
  const fitted = fitBall(shot.ballTrack, shot.outcome, settleGear(gear));
  if (!fitted.ok) return null;
  const { times, positions, fit } = fitted;
  const { impact, segments } = fit;
  const zero = impact?.time.value ?? 0;
  const origin = impact?.place.value ?? 0;
  // The fit counts places from the first point.
  const first = positions[0] as number;
  const step = Math.ceil(times.length / mostPoints);
  const points = Array.from(times, (time, index) => ({
    time: time - zero,
    place: (positions[index] as number) - first - origin,
  })).filter((_, index) => index % step === 0);
  const curve = (segment: BallSegment | null, from: number, to: number) =>
    segment === null || !(to > from)
      ? []
      : [
          Array.from({ length: curvePoints }, (_, index) => {
            const time = from + (index * (to - from)) / (curvePoints - 1);
            return { time: time - zero, place: segmentAt(segment, time).value - origin };
          }),
        ];
  const { before, after } = segments;
  const start = before === null ? zero : before.centre - before.halfWidth;
  const end = after === null ? zero : after.centre + after.halfWidth;
  const met = impact === null && before !== null ? before.centre + before.halfWidth : zero;
  return { hasImpact: impact !== null, points, curves: [...curve(before, start, met), ...curve(after, zero, end)] };
}
