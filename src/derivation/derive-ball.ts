/** The ball track of a shot, scaled and fitted, with the errors of the scale and clock of its camera. */
import type { BallResult } from '../../shared/derivation.ts';
import type { DerivedBall } from '../../shared/derived-ball.ts';
import type { Estimate } from '../../shared/estimate.ts';
import type { BallTrack, Outcome } from '../../shared/shot.ts';
import { averageBlocks } from '../kinematics/average-blocks.ts';
import { type BallTrackFit, fitBallTrack } from '../kinematics/ball-track.ts';
import type { Uncertain } from '../kinematics/uncertain.ts';
import { standardGravity } from '../physics/constants.ts';
import { type BudgetEntry, budgetEntry, relativeEntry, uncertaintyParts } from './budget.ts';
import { convertOptional } from './convert-measure.ts';
import { mixedEstimate, rootSumSquares } from './estimate.ts';
import { scaleBallTrack } from './scale-ball-track.ts';
import type { SettledGear } from './settle-gear.ts';

export interface BallReading {
  readonly ball: DerivedBall;
  /** Lines of the outcome distance, when the track gives one. */
  readonly outcomeBudget: readonly BudgetEntry[];
  /** Lines of all its other results. */
  readonly budget: readonly BudgetEntry[];
  /** Every stretch between blows shows sliding and rolling, each long enough to be told from the other. */
  readonly everyPhaseShown: boolean;
}

/** Longer tracks are averaged down to this. */
const mostPoints = 4000;
const fewestPoints = 6;
/** Positions beyond this, m, are not of a table. */
const farthest = 1e4;
/**
 * Relative standard uncertainty of the rate of an ordinary camera: nominal rates differ from true ones by up to 1/1001
 * (rectangular; common practice, no source). A track on the clock of the rig has the rig's.
 */
const ordinaryClock = 6e-4;

/** Speeds go with scale and clock, decelerations with the square of the clock, distances with the scale alone. */
export function deriveBall(track: BallTrack, outcome: Outcome | undefined, gear: SettledGear): BallReading {
  const refused = (reason: Extract<DerivedBall, { read: false }>['reason']): BallReading => ({
    ball: { read: false, reason },
    outcomeBudget: [],
    budget: [],
    everyPhaseShown: true,
  });
  const { scaled, captureRate, ownRate } = scaleBallTrack(track, gear);
  if (scaled === null) return refused('scaleMissing');
  const { times, positions } = scaled;
  if (times.length < fewestPoints) return refused('tooFewPoints');
  for (let i = 0; i < times.length; i += 1) {
    if (!(Math.abs(positions[i] as number) <= farthest && Math.abs(times[i] as number) <= 1e12))
      return refused('notFinite');
    if (i > 0 && !((times[i] as number) > (times[i - 1] as number))) return refused('notIncreasing');
  }
  const timeOf = (frame: number | undefined) => (frame === undefined ? null : frame / captureRate);
  const fit = fitBallTrack({
    ...averageBlocks(times, positions, mostPoints),
    contactTime: timeOf(track.contactFrame),
    impactTime: timeOf(track.impactFrame),
    cushionDistance: convertOptional(outcome?.firstCushionDistance, 'outcomeDistance', gear.context),
  });
  const clock = ownRate === null ? gear.clockUncertainty : ordinaryClock;
  return describe(fit, times.length, captureRate, track.scaleRelativeUncertainty, clock);
}

function describe(fit: BallTrackFit, points: number, captureRate: number, scale: number, clock: number): BallReading {
  const budget: BudgetEntry[] = [];
  /** With the relative errors of scale and clock, which are common to all shots of the camera. */
  const estimate = (
    result: BallResult | 'outcomeDistance',
    found: Uncertain | null | undefined,
    clockPower: 0 | 1 | 2,
    factor = 1,
  ): Estimate | null => {
    if (found === null || found === undefined) return null;
    const value = found.value / factor;
    const typeA = found.standardUncertainty / factor;
    const relative = rootSumSquares(scale, clockPower * clock);
    const made = mixedEstimate(value, typeA, Math.max(1, found.degrees), Math.abs(value) * relative);
    if (!Object.values(made).every(Number.isFinite)) return null;
    const lines = [
      budgetEntry(
        result,
        { input: 'ball track', value, unit: units[result], standardUncertainty: typeA },
        1,
        'A',
        'shot',
      ),
      relativeEntry(result, 'scale of the ball track', scale, value, 'rig'),
      ...(clockPower === 0
        ? []
        : [relativeEntry(result, 'capture rate of the ball track', clock, clockPower * value, 'rig')]),
    ];
    budget.push(...lines);
    return { ...made, parts: uncertaintyParts(lines, result) };
  };
  const { impact, turning, deceleration, segments } = fit;
  const turned = estimate('turningPoint', turning?.distance, 0);
  const outcomeDistance = estimate('outcomeDistance', fit.outcomeDistance, 0);
  const ball: DerivedBall = {
    read: true,
    points,
    captureRate,
    residualStandardDeviation: {
      beforeImpact: segments.before?.residualStandardDeviation ?? null,
      afterImpact: segments.after?.residualStandardDeviation ?? null,
    },
    ballSpeed: estimate('ballSpeed', fit.ballSpeed, 1),
    arrivalSpeed: estimate('arrivalSpeed', impact?.arrivalSpeed, 1),
    speedAfterImpact: estimate('speedAfterImpact', impact?.speedAfter, 1),
    impactTime: instant(impact?.time),
    turningPoint: turned === null || turning === null ? null : { distance: turned, time: turning.time },
    outcomeDistance,
    timeToRest: fit.timeToRest,
    outcomeBound: fit.reached,
    ended: fit.ended,
    slideToRoll: fit.breaks.map(({ phase, time }) => ({ phase, time })),
    slidingFriction: estimate('slidingFriction', deceleration.sliding, 2, standardGravity),
    rollingResistance: estimate('rollingResistance', deceleration.rolling, 2, standardGravity),
    outcomeOverTime: fit.samples.map(({ time, distance }) => ({ time, distance })),
  };
  return {
    ball,
    outcomeBudget: budget.filter(({ result }) => result === 'outcomeDistance'),
    budget: budget.filter(({ result }) => result !== 'outcomeDistance'),
    everyPhaseShown: fit.everyPhaseShown,
  };
}

const units: Readonly<Record<BallResult | 'outcomeDistance', string>> = {
  ballSpeed: 'm/s',
  arrivalSpeed: 'm/s',
  speedAfterImpact: 'm/s',
  turningPoint: 'm',
  outcomeDistance: 'm',
  slidingFriction: '1',
  rollingResistance: '1',
};

/** An instant on the clock of the camera: its own error is the only one. */
function instant(found: Uncertain | null | undefined): Estimate | null {
  if (found === null || found === undefined) return null;
  const made = mixedEstimate(found.value, found.standardUncertainty, Math.max(1, found.degrees), 0);
  return Object.values(made).every(Number.isFinite) ? made : null;
}
