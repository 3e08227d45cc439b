/**
 * Friction of a table from a lab's series, with the budget of each. What is common to a series (scale and rate of the
 * camera, sizes of the gear, the balls) does not average away over its shots and stands beside their mean.
 */
import type { CalibrationSeries } from '../../shared/calibration-series.ts';
import { fault } from '../../shared/fault.ts';
import type { TableContent } from '../../shared/gear.ts';
import type { Measure } from '../../shared/measure.ts';
import type { Fault } from '../../shared/problems.ts';
import { type Limits, type QuantityName, quantities } from '../../shared/quantities.ts';
import type { CalibratedFriction } from '../../shared/table-calibration.ts';
import { lookUpUnit, toSi, type UnitContext, unitNeeds } from '../../shared/units.ts';
import {
  type BallPair,
  combineSeries,
  type Measured,
  type RollOut,
  rollingOf,
  type StopShotTrial,
  slidingOf,
} from '../physics/calibration-series.ts';
import { convertOptional } from './convert-measure.ts';
import { rootSumSquares } from './estimate.ts';
import type { UncertainInput } from './gear-defaults.ts';
import { propagate } from './propagate.ts';

export interface MeasuredBalls {
  readonly ballRestitution: UncertainInput;
  readonly ballFriction: UncertainInput;
}

export interface CalibratedTable {
  readonly rollingResistance: CalibratedFriction | null;
  readonly slidingFriction: CalibratedFriction | null;
  readonly faults: readonly Fault[];
}

/** Taken of a shot of a series when the lab gave no uncertainty (common practice, no source). */
const assumedReading = { relativeSpeed: 0.01, distance: 0.005, tipOffset: 0.02 } as const;

/**
 * @param table for units that need ball or table; its calibration is not looked at
 * @param base JSON pointer of the series
 * @returns null where there is no such series; faults name the shots that give no value
 */
export function calibrateTable(
  series: CalibrationSeries,
  table: TableContent,
  balls: MeasuredBalls,
  base: string,
): CalibratedTable {
  const faults: Fault[] = [];
  const read = reader(contextOf(table), faults);
  const rollOuts = series.rollOuts.map((shot, index): RollOut => {
    const at = `${base}/rollOuts/${index}`;
    return {
      speed: read(
        shot.speed,
        shot.speedUncertainty,
        'ballSpeed',
        `${at}/speed`,
        (speed) => speed * assumedReading.relativeSpeed,
      ),
      distance: read(
        shot.distance,
        shot.distanceUncertainty,
        'objectBallDistance',
        `${at}/distance`,
        () => assumedReading.distance,
      ),
    };
  });
  const stopShots = series.stopShots.map((shot, index): StopShotTrial => {
    const at = `${base}/stopShots/${index}`;
    return {
      ballSpeed: read(
        shot.ballSpeed,
        shot.ballSpeedUncertainty,
        'ballSpeed',
        `${at}/ballSpeed`,
        (speed) => speed * assumedReading.relativeSpeed,
      ),
      tipOffset: read(
        shot.tipOffset,
        shot.tipOffsetUncertainty,
        'tipOffset',
        `${at}/tipOffset`,
        () => assumedReading.tipOffset,
      ),
      distance: read(
        shot.distance,
        shot.distanceUncertainty,
        'objectBallDistance',
        `${at}/distance`,
        () => assumedReading.distance,
      ),
    };
  });
  if (faults.length > 0) return { rollingResistance: null, slidingFriction: null, faults };
  const pair = { ballRestitution: balls.ballRestitution.value, ballFriction: balls.ballFriction.value };
  faults.push(
    ...withoutValue(rollOuts, (shot) => rollingOf(shot), `${base}/rollOuts`, 'a speed and a distance above 0'),
    ...withoutValue(
      stopShots,
      (shot) => slidingOf(shot, pair),
      `${base}/stopShots`,
      'a ball struck below centre, deep enough to stop',
    ),
  );
  if (faults.length > 0) return { rollingResistance: null, slidingFriction: null, faults };
  return {
    rollingResistance: rollingFriction(rollOuts, series),
    slidingFriction: slidingFriction(stopShots, series, balls),
    faults,
  };
}

function contextOf(table: TableContent): UnitContext {
  const diameter = convertOptional(table.ballDiameter, 'ballDiameter', {});
  return {
    ballRadius: diameter === null ? undefined : diameter / 2,
    tableLength: convertOptional(table.length, 'tableLength', {}) ?? undefined,
  };
}

/**
 * Reads a field of a shot and its uncertainty in SI, and makes their unit codes canonical. What cannot be read becomes a
 * fault and NaN.
 */
function reader(context: UnitContext, faults: Fault[]) {
  const inSi = (measure: Measure, quantity: QuantityName, pointer: string, limits: Limits): number => {
    const unit = lookUpUnit(measure.unit, quantity);
    const { siUnit } = quantities[quantity];
    if (!unit.ok) {
      faults.push(fault(unit.code, `${pointer}/unit`, measure.unit, unit.expected, unit.remedy));
      return Number.NaN;
    }
    const needs = unitNeeds(unit.code, quantity);
    if (needs !== null && context[needs] === undefined) {
      faults.push(fault('unit-dimension', `${pointer}/unit`, measure.unit, `a unit that converts to ${siUnit}`));
      return Number.NaN;
    }
    measure.unit = unit.code;
    const value = toSi(measure.value, unit.code, quantity, context);
    const { min, max } = limits;
    if (!(value >= min && value <= max)) {
      const sent = `${measure.value} ${measure.unit}`;
      faults.push(fault('limit-exceeded', `${pointer}/value`, sent, `between ${min} and ${max} ${siUnit}`));
    }
    return value;
  };
  return (
    measure: Measure,
    stated: Measure | undefined,
    quantity: QuantityName,
    pointer: string,
    otherwise: (value: number) => number,
  ): Measured => {
    const { hard } = quantities[quantity];
    const value = inSi(measure, quantity, pointer, hard);
    const uncertain = { min: 0, max: hard.max };
    return {
      value,
      standardUncertainty:
        stated === undefined ? otherwise(value) : inSi(stated, quantity, `${pointer}Uncertainty`, uncertain),
    };
  };
}

function withoutValue<Trial>(
  trials: readonly Trial[],
  value: (trial: Trial) => Measured | null,
  base: string,
  expected: string,
): Fault[] {
  return trials.flatMap((trial, index) =>
    value(trial) === null ? [fault('limit-exceeded', `${base}/${index}`, trial, expected)] : [],
  );
}

type Line = CalibratedFriction['budget'][number];

function line(input: string, from: Measured, unit: string, sensitivity: number, kind: 'A' | 'B'): Line {
  const { value, standardUncertainty } = from;
  return {
    input,
    value,
    unit,
    standardUncertainty,
    sensitivity,
    contribution: Math.abs(sensitivity) * standardUncertainty,
    kind,
  };
}

function assembled(
  trials: readonly Measured[],
  name: string,
  mean: Measured,
  common: readonly Line[],
): CalibratedFriction {
  const own = line(`${trials.length} ${name}`, mean, '1', 1, trials.length > 1 ? 'A' : 'B');
  const budget = [own, ...common];
  return {
    value: mean.value,
    standardUncertainty: rootSumSquares(...budget.map(({ contribution }) => contribution)),
    trials: [...trials],
    budget,
  };
}

const speedLine = (series: CalibrationSeries, mean: number) =>
  // Both frictions go with the square of the speeds.
  line(
    'scale and rate of the speeds',
    { value: 1, standardUncertainty: series.speedRelativeUncertainty },
    '1',
    2 * mean,
    'B',
  );

function rollingFriction(rollOuts: readonly RollOut[], series: CalibrationSeries): CalibratedFriction | null {
  const trials = rollOuts.flatMap((shot) => rollingOf(shot) ?? []);
  const mean = combineSeries(trials);
  return mean === null ? null : assembled(trials, 'roll-outs', mean, [speedLine(series, mean.value)]);
}

const assumed = (input: UncertainInput) => (input.assumed ? ' (assumed)' : '');

function slidingFriction(
  stopShots: readonly StopShotTrial[],
  series: CalibrationSeries,
  balls: MeasuredBalls,
): CalibratedFriction | null {
  const trialsWith = (pair: BallPair, shift: number) =>
    stopShots.map((shot) =>
      slidingOf({ ...shot, tipOffset: { ...shot.tipOffset, value: shot.tipOffset.value + shift } }, pair),
    );
  const whole = (values: readonly (Measured | null)[]) => values.flatMap((value) => value ?? []);
  const pair = { ballRestitution: balls.ballRestitution.value, ballFriction: balls.ballFriction.value };
  const trials = whole(trialsWith(pair, 0));
  const mean = combineSeries(trials);
  if (mean === null) return null;
  const inputs = {
    shift: { value: 0, standardUncertainty: series.tipOffsetCommonUncertainty },
    ballRestitution: balls.ballRestitution,
    ballFriction: balls.ballFriction,
  };
  const { contributions } = propagate(inputs, ({ shift, ballRestitution, ballFriction }) => {
    const given = {
      ballRestitution: Math.min(1, Math.max(0, ballRestitution)),
      ballFriction: Math.max(0, ballFriction),
    };
    const shifted = whole(trialsWith(given, shift));
    return shifted.length < stopShots.length ? null : (combineSeries(shifted)?.value ?? null);
  });
  const byContribution = (input: string, from: Measured, contribution: number): Line => ({
    ...line(input, from, '1', from.standardUncertainty > 0 ? contribution / from.standardUncertainty : 0, 'B'),
  });
  return assembled(trials, 'stop shots', mean, [
    speedLine(series, mean.value),
    byContribution('tip offsets in common', inputs.shift, contributions.shift),
    byContribution(
      `restitution of the balls${assumed(balls.ballRestitution)}`,
      inputs.ballRestitution,
      contributions.ballRestitution,
    ),
    byContribution(
      `friction between the balls${assumed(balls.ballFriction)}`,
      inputs.ballFriction,
      contributions.ballFriction,
    ),
  ]);
}
