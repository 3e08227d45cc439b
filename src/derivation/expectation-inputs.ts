/** What the expected outcome is computed from, in SI, with standard uncertainties. */
import type { Estimate } from '../../shared/estimate.ts';
import type { Discipline, TableContent } from '../../shared/gear.ts';
import { energyOverDeceleration, type Measured } from '../physics/calibration-series.ts';
import { convertOptional } from './convert-measure.ts';
import type { UsedGear } from './gear.ts';
import type { UncertainInput } from './gear-defaults.ts';
import type { SettledGear } from './settle-gear.ts';

export interface ExpectationInput {
  readonly straight: boolean;
  /** Recomputed. */
  readonly cueSpeed: Estimate | null;
  readonly tipOffset: Estimate | null;
  /** Measured, off the tip. */
  readonly ballSpeed: Estimate | null;
  /** m. */
  readonly objectBallDistance: number | null;
  /** Measured; null when it was not, or is a bound. */
  readonly outcomeDistance: Estimate | null;
}

/** Taken where the lab gave nothing; common values and their spread, from memory. */
const assumedBalls = {
  ballRestitution: { value: 0.95, standardUncertainty: 0.02 },
  ballFriction: { value: 0.06, standardUncertainty: 0.02 },
} as const;
const assumedTipRestitution = { value: 0.75, standardUncertainty: 0.05 } as const;
/** Mass of the cue ball by discipline, kg: the middle and spread of what the equipment specifications allow. */
const ballMasses: Readonly<Record<Discipline, Measured>> = {
  pool: { value: 0.163, standardUncertainty: 0.004 },
  snooker: { value: 0.142, standardUncertainty: 0.005 },
  carom: { value: 0.21, standardUncertainty: 0.004 },
  small: { value: 0.094, standardUncertainty: 0.0012 },
  other: { value: 0.163, standardUncertainty: 0.03 },
};
/** Object ball over cue ball: one set has balls of one mass, but for small pool (0.116 and 0.094 kg). */
const unequalBalls = 0.116 / 0.094;
/** Standard uncertainties of masses and of the object-ball distance that the lab did give: kitchen scale and tape. */
export const assumedGiven = { cueMass: 0.002, ballMass: 0.0005, massRatio: 0.005, objectBallDistance: 0.005 } as const;

export interface TableInputs {
  readonly slidingFriction: UncertainInput;
  readonly rollingResistance: UncertainInput;
  readonly ballRestitution: UncertainInput;
  readonly ballFriction: UncertainInput;
}

function taken(own: Measured | null | undefined, otherwise: Measured): UncertainInput {
  if (own === null || own === undefined) return { ...otherwise, assumed: true };
  return { value: own.value, standardUncertainty: own.standardUncertainty, assumed: false };
}

type Calibration = NonNullable<TableContent['calibration']>;

/** Rolling resistance in the definition that is computed with: deceleration over gravity. */
export function byDeceleration({ value, standardUncertainty, definition }: Calibration['rollingResistance']): Measured {
  const factor = definition === 'energy' ? energyOverDeceleration : 1;
  return { value: value / factor, standardUncertainty: standardUncertainty / factor };
}

/** What two balls do to each other: as the lab measured it, else common values. */
export function ballsOf({ ballRestitution, ballFriction }: Pick<Calibration, 'ballRestitution' | 'ballFriction'>) {
  return {
    ballRestitution: taken(ballRestitution, assumedBalls.ballRestitution),
    ballFriction: taken(ballFriction, assumedBalls.ballFriction),
  };
}

/** Null where the lab has not calibrated the table. */
export function tableInputs(table: TableContent | undefined): TableInputs | null {
  const calibration = table?.calibration;
  if (calibration === undefined) return null;
  return {
    slidingFriction: { ...calibration.slidingFriction, assumed: false },
    rollingResistance: { ...byDeceleration(calibration.rollingResistance), assumed: false },
    ...ballsOf(calibration),
  };
}

/** Masses and tip restitution; the cue mass is null when it was not given. */
export function impactInputs(gear: UsedGear, settled: SettledGear) {
  const mass = convertOptional(gear.table?.content.ballMass, 'ballMass', settled.context);
  const { discipline, cueMass } = settled;
  return {
    cueMass: cueMass === null ? null : { value: cueMass, standardUncertainty: assumedGiven.cueMass, assumed: false },
    ballMass: taken(
      mass === null ? null : { value: mass, standardUncertainty: assumedGiven.ballMass },
      ballMasses[discipline],
    ),
    massRatio: {
      value: discipline === 'small' ? unequalBalls : 1,
      standardUncertainty: assumedGiven.massRatio,
      assumed: true,
    },
    tipRestitution: { ...assumedTipRestitution, assumed: true },
  };
}

/** Object-ball distance as measured, m. */
export function distanceInput(objectBallDistance: number): UncertainInput {
  return { value: objectBallDistance, standardUncertainty: assumedGiven.objectBallDistance, assumed: false };
}

/** Distances within this count as a stop, m: as the lab declared, else half a ball. */
export function stopBand(gear: UsedGear, settled: SettledGear): number {
  const own = convertOptional(gear.table?.content.stopBand, 'outcomeDistance', settled.context);
  return own === null ? settled.ballRadius.value : Math.abs(own);
}
