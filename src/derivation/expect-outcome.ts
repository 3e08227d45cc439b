/**
 * The outcome that mechanics expects from the recomputed speed and tip offset, against the measured one. Judged only
 * where the lab calibrated its table; never a reason to reject.
 */
import type { Estimate } from '../../shared/estimate.ts';
import type { Expected, ExpectedByModel, ImpactModel, OutcomeClass } from '../../shared/expected.ts';
import { predictOutcome } from '../physics/predict-outcome.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import { cueMassFromSpeeds, restitutionFromMeasured } from './expect-impact.ts';
import { distanceInput, type ExpectationInput, impactInputs, stopBand, tableInputs } from './expectation-inputs.ts';
import type { UsedGear } from './gear.ts';
import type { UncertainInput } from './gear-defaults.ts';
import { propagate } from './propagate.ts';
import type { SettledGear } from './settle-gear.ts';

function classOf(distance: number, band: number): OutcomeClass {
  if (distance < -band) return 'draw';
  return distance > band ? 'follow' : 'stop';
}

/** The expected outcome by each model that has its inputs. */
export function expectOutcome(input: ExpectationInput, gear: UsedGear, settled: SettledGear): Expected {
  const band = stopBand(gear, settled);
  const impact = impactInputs(gear, settled);
  const { outcomeDistance } = input;
  const shared = {
    stopBand: band,
    observedClass: outcomeDistance === null ? null : classOf(outcomeDistance.value, band),
    restitution: restitutionFromMeasured(input, impact),
    effectiveCueMass: cueMassFromSpeeds(input, impact),
  };
  const notJudged = (reason: NonNullable<Expected['reason']>, missing: string[] = []): Expected => ({
    judged: false,
    reason,
    missing,
    ...shared,
    models: [],
  });
  const table = tableInputs(gear.table?.content);
  if (table === null) return notJudged('noCalibration');
  if (!input.straight) return notJudged('notStraight');
  const { tipOffset, objectBallDistance, cueSpeed, ballSpeed } = input;
  const fromCue = cueSpeed !== null && impact.cueMass !== null;
  const missing = [
    ...(tipOffset === null ? ['tipOffset'] : []),
    ...(objectBallDistance === null ? ['objectBallDistance'] : []),
    ...(ballSpeed === null && cueSpeed === null ? ['cueSpeed'] : []),
    ...(ballSpeed === null && impact.cueMass === null ? ['cueMass'] : []),
  ];
  if (missing.length > 0 || tipOffset === null || objectBallDistance === null) {
    return notJudged('inputMissing', missing);
  }

  const common = {
    tipOffset: { ...tipOffset, assumed: false },
    ballMass: impact.ballMass,
    massRatio: impact.massRatio,
    ...table,
    objectBallDistance: distanceInput(objectBallDistance),
  };
  const asInput = (speed: Estimate): UncertainInput => ({ ...speed, assumed: false });
  // Without the cue these do not enter; they are put in as exact so that they contribute nothing.
  const unused = { value: 1, standardUncertainty: 0, assumed: false };
  const models: ExpectedByModel[] = [];
  const add = (model: ImpactModel, inputs: Record<InputName, UncertainInput>) => {
    const found = byModel(model, inputs, band, outcomeDistance);
    if (found !== null) models.push(found);
  };
  if (ballSpeed !== null) {
    add('measuredBallSpeed', { speed: asInput(ballSpeed), cueMass: unused, tipRestitution: unused, ...common });
  }
  if (fromCue && cueSpeed !== null && impact.cueMass !== null) {
    const { cueMass, tipRestitution } = impact;
    add('constantRestitution', { speed: asInput(cueSpeed), cueMass, tipRestitution, ...common });
    add('constantEnergyFraction', { speed: asInput(cueSpeed), cueMass, tipRestitution, ...common });
  }
  if (models.length === 0) return notJudged('doesNotReach');
  return { judged: true, reason: null, missing: [], ...shared, models };
}

const inputNames = [
  'speed',
  'tipOffset',
  'cueMass',
  'ballMass',
  'massRatio',
  'tipRestitution',
  'slidingFriction',
  'rollingResistance',
  'ballRestitution',
  'ballFriction',
  'objectBallDistance',
] as const;
type InputName = (typeof inputNames)[number];
type Values = Readonly<Record<InputName, number>>;

/** Outside these an input has no meaning; a step of the propagation stops there. */
function clipped(values: Values): Values {
  const between = (value: number, least: number, most: number) => Math.min(most, Math.max(least, value));
  return {
    ...values,
    speed: Math.max(1e-6, values.speed),
    tipOffset: between(values.tipOffset, -0.999, 0.999),
    cueMass: Math.max(1e-3, values.cueMass),
    ballMass: Math.max(1e-3, values.ballMass),
    massRatio: Math.max(0.1, values.massRatio),
    tipRestitution: between(values.tipRestitution, 0, 1),
    slidingFriction: Math.max(1e-3, values.slidingFriction),
    rollingResistance: Math.max(1e-4, values.rollingResistance),
    ballRestitution: between(values.ballRestitution, 0, 1),
    ballFriction: Math.max(0, values.ballFriction),
    objectBallDistance: Math.max(0, values.objectBallDistance),
  };
}

function byModel(
  model: ImpactModel,
  inputs: Readonly<Record<InputName, UncertainInput>>,
  band: number,
  measured: Estimate | null,
): ExpectedByModel | null {
  const ordered = Object.fromEntries(inputNames.map((name) => [name, inputs[name]])) as typeof inputs;
  const predict = (values: Values) => predictOutcome(model, clipped(values));
  const middle = Object.fromEntries(inputNames.map((name) => [name, inputs[name].value])) as Record<InputName, number>;
  const found = predict(middle);
  if (found === null || !Number.isFinite(found.outcomeDistance)) return null;
  const { standardUncertainty, contributions } = propagate(
    ordered,
    (values) => predict(values)?.outcomeDistance ?? null,
  );
  if (!Number.isFinite(standardUncertainty)) return null;
  const probability = classProbabilities(found.outcomeDistance, standardUncertainty, band);
  const { start, arrival, outcomeDistance } = found;
  return {
    model,
    ballSpeed: start.speed,
    surfaceSpin: start.surfaceSpin,
    arrivalSpeed: arrival.speed,
    arrivalSurfaceSpin: arrival.surfaceSpin,
    outcomeDistance: normalEstimate(outcomeDistance, standardUncertainty),
    probability,
    class: likeliest(probability),
    residual: measured === null ? null : residualOf(measured, outcomeDistance, standardUncertainty),
    inputs: inputNames
      .filter((name) => inputs[name].standardUncertainty > 0)
      .map((name) => ({
        input: name === 'speed' ? speedName(model) : name,
        value: inputs[name].value,
        standardUncertainty: inputs[name].standardUncertainty,
        assumed: inputs[name].assumed,
        contribution: contributions[name],
      })),
  };
}

function speedName(model: ImpactModel): string {
  return model === 'measuredBallSpeed' ? 'ballSpeed' : 'cueSpeed';
}

function residualOf(measured: Estimate, expected: number, uncertainty: number): ExpectedByModel['residual'] {
  const value = measured.value - expected;
  const standardUncertainty = rootSumSquares(measured.standardUncertainty, uncertainty);
  const standardised = standardUncertainty > 0 ? value / standardUncertainty : 0;
  return { value, standardUncertainty, standardised };
}

/** Shares of a normal distribution below, within and above the stop band. */
export function classProbabilities(
  distance: number,
  uncertainty: number,
  band: number,
): ExpectedByModel['probability'] {
  if (!(uncertainty > 0)) {
    const only = classOf(distance, band);
    return { draw: only === 'draw' ? 1 : 0, stop: only === 'stop' ? 1 : 0, follow: only === 'follow' ? 1 : 0 };
  }
  const draw = normalCdf((-band - distance) / uncertainty);
  const follow = normalCdf((distance - band) / uncertainty);
  return { draw, stop: Math.max(0, 1 - draw - follow), follow };
}

function likeliest({ draw, stop, follow }: ExpectedByModel['probability']): OutcomeClass {
  if (draw >= stop && draw >= follow) return 'draw';
  return follow > stop ? 'follow' : 'stop';
}
