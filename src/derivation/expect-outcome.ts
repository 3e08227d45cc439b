/**
 * The outcome that mechanics expects from the recomputed speed and tip offset, against the measured one. Judged only
 * where the lab calibrated its table; never a reason to reject.
 */
import type { BudgetLine } from '../../shared/derivation.ts';
import type { Estimate } from '../../shared/estimate.ts';
import type { Expected, ExpectedByModel, ImpactModel, OutcomeClass } from '../../shared/expected.ts';
import { predictOutcome } from '../physics/predict-outcome.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { nameGroups, uncertaintyParts } from './budget.ts';
import { type ChainInput, chainLines, combinedUncertainty, sensitivitiesTo } from './chain-budget.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import {
  cueMassFromSpeeds,
  derivedInput,
  impactBudgets,
  type LinesOf,
  restitutionFromMeasured,
} from './expect-impact.ts';
import { distanceInput, type ExpectationInput, impactInputs, stopBand, tableInputs } from './expectation-inputs.ts';
import type { UsedGear } from './gear.ts';
import type { UncertainInput } from './gear-defaults.ts';
import type { MethodChoices } from './method-choices.ts';
import { propagate } from './propagate.ts';
import type { SettledGear } from './settle-gear.ts';

function classOf(distance: number, band: number): OutcomeClass {
  if (distance < -band) return 'draw';
  return distance > band ? 'follow' : 'stop';
}

/**
 * The expected outcome by each model that has its inputs.
 *
 * @param budget lines of the results that it starts from
 * @returns with the lines of restitution and effective cue mass, when the method version asks for them
 */
export function expectOutcome(
  input: ExpectationInput,
  gear: UsedGear,
  settled: SettledGear,
  choices: MethodChoices,
  budget: readonly BudgetLine[],
): { readonly expected: Expected; readonly budget: readonly BudgetLine[] } {
  const linesOf: LinesOf = (result) => budget.filter((line) => line.result === result);
  const impact = impactInputs(gear, settled);
  const entries = choices.completeBudgets ? nameGroups(impactBudgets(input, impact, linesOf), gear) : [];
  const expected = judge(input, gear, settled, choices, linesOf);
  if (!choices.completeBudgets) return { expected, budget: [] };
  const withBudget = (result: 'restitution' | 'effectiveCueMass', found: Estimate | null): Estimate | null => {
    if (found === null) return null;
    const parts = uncertaintyParts(entries, result);
    const uncertainty = combinedUncertainty(entries.filter((line) => line.result === result));
    // A speed that may be zero leaves nothing to be said.
    return Number.isFinite(uncertainty) ? { ...normalEstimate(found.value, uncertainty), parts } : null;
  };
  const { restitution, effectiveCueMass } = expected;
  const found = {
    restitution: withBudget('restitution', restitution),
    effectiveCueMass: withBudget('effectiveCueMass', effectiveCueMass),
  };
  return {
    // One equation of the impact: without the cue speed after it each finding takes the other for known.
    expected: { ...expected, ...found, independent: false },
    budget: entries.filter(({ result }) => found[result as keyof typeof found] !== null),
  };
}

function judge(
  input: ExpectationInput,
  gear: UsedGear,
  settled: SettledGear,
  choices: MethodChoices,
  linesOf: LinesOf,
): Expected {
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
    const found = choices.completeBudgets
      ? withBudgetOf(model, inputs, { band, gear, input, linesOf, choices })
      : byModel(model, inputs, band, outcomeDistance);
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

interface BudgetContext {
  readonly band: number;
  readonly gear: UsedGear;
  readonly input: ExpectationInput;
  readonly linesOf: LinesOf;
  readonly choices: MethodChoices;
}

const inputUnits: Readonly<Record<InputName, string>> = {
  speed: 'm/s',
  tipOffset: '1',
  cueMass: 'kg',
  ballMass: 'kg',
  massRatio: '1',
  tipRestitution: '1',
  slidingFriction: '1',
  rollingResistance: '1',
  ballRestitution: '1',
  ballFriction: '1',
  objectBallDistance: 'm',
};
const inputCommonTo: Readonly<Record<InputName, BudgetLine['commonTo']>> = {
  speed: 'shot',
  tipOffset: 'shot',
  cueMass: 'cue',
  ballMass: 'table',
  massRatio: 'table',
  tipRestitution: 'cue',
  slidingFriction: 'table',
  rollingResistance: 'table',
  ballRestitution: 'table',
  ballFriction: 'table',
  objectBallDistance: 'shot',
};

/** As `byModel`, with speed, tip offset and measured outcome entering by their own budgets. */
function withBudgetOf(
  model: ImpactModel,
  inputs: Readonly<Record<InputName, UncertainInput>>,
  { band, gear, input, linesOf, choices }: BudgetContext,
): ExpectedByModel | null {
  const speed = speedName(model);
  const derived = { speed: linesOf(speed), tipOffset: linesOf('tipOffset') };
  const chained = Object.fromEntries(
    inputNames.map((name) => {
      const { value, standardUncertainty } = inputs[name];
      const lines = name === 'speed' || name === 'tipOffset' ? { lines: derived[name] } : {};
      return [name, { value, standardUncertainty, unit: inputUnits[name], commonTo: inputCommonTo[name], ...lines }];
    }),
  ) as Record<InputName, ChainInput>;
  const predict = (values: Values) => {
    const predicted = predictOutcome(model, clipped(values), { spinByMasses: choices.spinByMasses });
    if (predicted === null) return null;
    const { start, arrival, outcomeDistance: distance } = predicted;
    return [distance, start.speed, start.surfaceSpin, arrival.speed, arrival.surfaceSpin];
  };
  const found = predict(Object.fromEntries(inputNames.map((name) => [name, inputs[name].value])) as Values);
  if (found === null || !found.every(Number.isFinite)) return null;
  const sensitivities = new Map(inputNames.map((name) => [name, sensitivitiesTo(name, chained, predict)]));
  const linesOfPart = (part: number) =>
    nameGroups(
      chainLines('outcomeDistance', chained, (name) => sensitivities.get(name)?.[part] ?? null),
      gear,
    );
  const lines = linesOfPart(0);
  const uncertainties = found.map((_, part) => combinedUncertainty(part === 0 ? lines : linesOfPart(part)));
  if (!uncertainties.every(Number.isFinite)) return null;
  const [outcomeDistance, ...motion] = found as Five;
  const [standardUncertainty, ...ofMotion] = uncertainties as Five;
  const probability = classProbabilities(outcomeDistance, standardUncertainty, band);
  const assumed = (name: string) => inputs[(name === speed ? 'speed' : name) as InputName]?.assumed ?? false;
  return {
    model,
    ...motionOf(motion),
    standardUncertainties: motionOf(ofMotion),
    outcomeDistance: {
      ...normalEstimate(outcomeDistance, standardUncertainty),
      parts: uncertaintyParts(lines, 'outcomeDistance'),
    },
    probability,
    class: likeliest(probability),
    residual: budgetedResidual(input.outcomeDistance, outcomeDistance, chained, sensitivities, gear, linesOf),
    inputs: lines.map(({ result: _result, input: name, ...line }) => {
      const named = name === 'speed' ? speed : name;
      return { input: named, ...line, assumed: assumed(named) };
    }),
  };
}

type Five = [number, number, number, number, number];

function motionOf([ballSpeed, surfaceSpin, arrivalSpeed, arrivalSurfaceSpin]: [number, number, number, number]) {
  return { ballSpeed, surfaceSpin, arrivalSpeed, arrivalSurfaceSpin };
}

/** Measured minus expected: what both share, such as the scale of the camera that filmed the ball, is one line. */
function budgetedResidual(
  measured: Estimate | null,
  expected: number,
  inputs: Readonly<Record<InputName, ChainInput>>,
  sensitivities: ReadonlyMap<InputName, readonly number[] | null>,
  gear: UsedGear,
  linesOf: LinesOf,
): ExpectedByModel['residual'] {
  if (measured === null) return null;
  const all = { ...inputs, measured: derivedInput(measured, 'm', linesOf('outcomeDistance')) };
  const sensitivityTo = (name: InputName | 'measured') => {
    if (name === 'measured') return 1;
    const ofExpected = sensitivities.get(name)?.[0];
    return ofExpected === undefined ? null : -ofExpected;
  };
  const lines = nameGroups(chainLines('outcomeDistance', all, sensitivityTo), gear);
  const value = measured.value - expected;
  const standardUncertainty = combinedUncertainty(lines);
  const standardised = standardUncertainty > 0 ? value / standardUncertainty : 0;
  return { value, standardUncertainty, standardised, parts: uncertaintyParts(lines, 'outcomeDistance') };
}

function speedName(model: ImpactModel): 'ballSpeed' | 'cueSpeed' {
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
