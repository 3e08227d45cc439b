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
import type { MethodChoices } from './method-choices.ts';
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

type Refused = Extract<DerivedBall, { read: false }>['reason'];

/** A ball track in SI with its fit. */
export interface FittedBall {
  readonly ok: true;
  /** Points as sent. */
  readonly points: number;
  /** s, on the clock of the camera, and m: what was fitted, long tracks averaged down. */
  readonly times: Float64Array;
  readonly positions: Float64Array;
  readonly captureRate: number;
  /** Relative standard uncertainty of the rate. */
  readonly clock: number;
  readonly fit: BallTrackFit;
}

/** Speeds go with scale and clock, decelerations with the square of the clock, distances with the scale alone. */
export function deriveBall(
  track: BallTrack,
  outcome: Outcome | undefined,
  gear: SettledGear,
  choices: MethodChoices,
): BallReading {
  const fitted = fitBall(track, outcome, gear);
  if (!fitted.ok)
    return { ball: { read: false, reason: fitted.reason }, outcomeBudget: [], budget: [], everyPhaseShown: true };
  const { fit, points, captureRate, clock } = fitted;
  return describe(fit, points, captureRate, track.scaleRelativeUncertainty, clock, choices);
}

/** Scales the track and fits it, or says why that cannot be done. */
export function fitBall(
  track: BallTrack,
  outcome: Outcome | undefined,
  gear: SettledGear,
): FittedBall | { readonly ok: false; readonly reason: Refused } {
  const refused = (reason: Refused) => ({ ok: false, reason }) as const;
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
  const fittedTo = averageBlocks(times, positions, mostPoints);
  const fit = fitBallTrack({
    ...fittedTo,
    contactTime: timeOf(track.contactFrame),
    impactTime: timeOf(track.impactFrame),
    cushionDistance: convertOptional(outcome?.firstCushionDistance, 'outcomeDistance', gear.context),
  });
  const clock = ownRate === null ? gear.clockUncertainty : ordinaryClock;
  return { ok: true, points: times.length, ...fittedTo, captureRate, clock, fit };
}

function describe(
  fit: BallTrackFit,
  points: number,
  captureRate: number,
  scale: number,
  clock: number,
  { completeBudgets }: MethodChoices,
): BallReading {
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
  /** A number that version 1 left without its uncertainty: from the fit, with the part of scale or clock. */
  const more = <Name extends string>(name: Name, ofFit: number | null, common = 0): { [key in Name]?: number } => {
    const all = ofFit === null ? Number.NaN : rootSumSquares(ofFit, common);
    return completeBudgets && Number.isFinite(all) ? ({ [name]: all } as { [key in Name]: number }) : {};
  };
  const { impact, turning, deceleration, segments } = fit;
  const impactTime = instant(impact?.time);
  if (completeBudgets && impactTime !== null) {
    const { value, standardUncertainty } = impactTime;
    const from = { input: 'ball track', value, unit: 's', standardUncertainty };
    budget.push(budgetEntry('impactTime', from, 1, 'A', 'shot'));
  }
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
    impactTime,
    turningPoint:
      turned === null || turning === null
        ? null
        : {
            distance: turned,
            time: turning.time,
            ...more('timeUncertainty', turning.timeUncertainty, clock * turning.time),
          },
    outcomeDistance,
    timeToRest: fit.timeToRest,
    ...more('timeToRestUncertainty', fit.timeToRestUncertainty, clock * (fit.timeToRest ?? 0)),
    outcomeBound: fit.reached,
    ...more('outcomeBoundUncertainty', fit.reachedUncertainty, scale * (fit.reached ?? 0)),
    ended: fit.ended,
    slideToRoll: fit.breaks.map(({ phase, time, standardUncertainty }) => ({
      phase,
      time,
      ...more('standardUncertainty', standardUncertainty),
    })),
    slidingFriction: estimate('slidingFriction', deceleration.sliding, 2, standardGravity),
    rollingResistance: estimate('rollingResistance', deceleration.rolling, 2, standardGravity),
    outcomeOverTime: fit.samples.map(({ time, distance, standardUncertainty }) => ({
      time,
      distance,
      ...more('standardUncertainty', standardUncertainty, scale * distance),
    })),
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
  impactTime: 's',
};

/** An instant on the clock of the camera: its own error is the only one. */
function instant(found: Uncertain | null | undefined): Estimate | null {
  if (found === null || found === undefined) return null;
  const made = mixedEstimate(found.value, found.standardUncertainty, Math.max(1, found.degrees), 0);
  return Object.values(made).every(Number.isFinite) ? made : null;
}
