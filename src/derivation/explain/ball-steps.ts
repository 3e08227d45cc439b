/** From the ball track to speeds, friction and distances, and to what mechanics expects, step by step. */
import { ballResults, type DerivedShot } from '../../../shared/derivation.ts';
import type { ExpectedByModel } from '../../../shared/expected.ts';
import type { DerivationStep } from '../../../shared/explanation.ts';
import { number, step } from './step.ts';
import { contributions, estimateNumbers } from './stroke-steps.ts';

const notRead = {
  tooFewPoints: 'it has too few points',
  scaleMissing: 'its unit needs a scale',
  notIncreasing: 'its frames do not increase',
  notFinite: 'its positions are not of a table',
} as const;

export const ballUnits = {
  ballSpeed: 'm/s',
  arrivalSpeed: 'm/s',
  speedAfterImpact: 'm/s',
  turningPoint: 'm',
  slidingFriction: '1',
  rollingResistance: '1',
  impactTime: 's',
} as const;

/** Empty without a ball track. */
export function ballSteps(derived: DerivedShot): DerivationStep[] {
  const { ball } = derived;
  if (ball === null) return [];
  if (!ball.read)
    return [step('ball-track', 'Ball track', `The ball track was not used: ${notRead[ball.reason]}.`, [])];
  const broken = ball.slideToRoll.map(({ phase }) => (phase === 'beforeImpact' ? 'before' : 'after'));
  const seen =
    broken.length === 0
      ? 'No end of sliding is on film.'
      : `The end of sliding ${broken.join(' and ')} the impact is on film.`;
  const short = derived.flags.includes('ballPhaseShort')
    ? ' Not every stretch shows sliding and rolling long enough to tell them apart: what goes unseen may put the numbers off by more than their intervals.'
    : '';
  return [
    step(
      'ball-track',
      'Ball track',
      `Each stretch between blows was fitted by itself, sliding and rolling; the impact is where the two curves meet. ${seen}${short}`,
      [
        number('points', ball.points, null),
        number('capture rate of its camera', ball.captureRate, '1/s'),
        number('residual standard deviation before the impact', ball.residualStandardDeviation.beforeImpact, 'm'),
        number('residual standard deviation after the impact', ball.residualStandardDeviation.afterImpact, 'm'),
        ...estimateNumbers('ball speed off the tip', ball.ballSpeed, 'm/s'),
        ...estimateNumbers('arrival speed', ball.arrivalSpeed, 'm/s'),
        ...estimateNumbers('instant of the impact', ball.impactTime, 's'),
        ...estimateNumbers('speed after the impact', ball.speedAfterImpact, 'm/s'),
        ...estimateNumbers('turning point', ball.turningPoint?.distance ?? null, 'm'),
        ...ball.slideToRoll.flatMap(({ phase, time, standardUncertainty }) =>
          withUncertainty(`end of sliding, ${phase}`, time, standardUncertainty, 's'),
        ),
        ...withUncertainty('time from impact to rest', ball.timeToRest, ball.timeToRestUncertainty, 's'),
        ...estimateNumbers('sliding friction', ball.slidingFriction, '1'),
        ...estimateNumbers('rolling resistance', ball.rollingResistance, '1'),
        ...ballResults.flatMap((result) => contributions(derived, result, ballUnits[result], ['shot', 'rig'])),
      ],
      'x = c0 + c1 t + (a/2) t^2 in each phase, smooth across the end of sliding; impact: x1(ti) = x2(ti)',
    ),
  ];
}

function withUncertainty(name: string, value: number | null, uncertainty: number | undefined, unit: string) {
  if (value === null) return [];
  return [
    number(name, value, unit),
    ...(uncertainty === undefined ? [] : [number(`${name}: standard uncertainty`, uncertainty, unit)]),
  ];
}

const notJudged = {
  noCalibration: 'the lab has not calibrated the table',
  notStraight: 'the object ball was not hit full',
  inputMissing: 'inputs are missing',
  doesNotReach: 'by the models the cue ball does not reach the object ball',
} as const;

const modelWords = {
  measuredBallSpeed: 'from the measured ball speed',
  constantRestitution: 'constant restitution',
  constantEnergyFraction: 'constant energy fraction',
} as const;

const everything = ['shot', 'rig', 'cue', 'table'] as const;

export function expectedSteps(derived: DerivedShot): DerivationStep[] {
  const { expected } = derived;
  const { reason, missing, models, restitution, effectiveCueMass, stopBand, observedClass } = expected;
  const lack = missing.length === 0 ? '' : ` (${missing.join(', ')})`;
  const done =
    reason === null
      ? 'Cue speed and tip offset were carried through impact, slide and full hit to the outcome distance, by each model of the impact, and held against the measured one.'
      : `The outcome is not judged: ${notJudged[reason]}${lack}.`;
  const oneEquation =
    restitution === null && effectiveCueMass === null
      ? ''
      : ' Restitution and effective cue mass are one finding said twice: without the cue speed after the impact there is one equation, and each takes the other for known.';
  return [
    step(
      'expected-outcome',
      'Expected outcome',
      `${done}${oneEquation}`,
      [
        number('stop band', stopBand, 'm'),
        number('observed class', observedClass, null),
        ...models.flatMap(modelNumbers),
        ...(restitution === null ? [] : estimateNumbers('restitution of tip and ball', restitution, '1')),
        ...contributions(derived, 'restitution', '1', everything),
        ...(effectiveCueMass === null ? [] : estimateNumbers('effective cue mass', effectiveCueMass, 'kg')),
        ...contributions(derived, 'effectiveCueMass', 'kg', everything),
      ],
      "v = V (1 + e) / (1 + m/M + (5/2)(b/R)^2); D = (2/49)|v' - s'|(6 v' + s')/(mu_s g) + sign(v_r) v_r^2/(2 mu_r g)",
    ),
  ];
}

function motion(
  each: ExpectedByModel,
  part: keyof NonNullable<ExpectedByModel['standardUncertainties']>,
  name: string,
) {
  const uncertainty = each.standardUncertainties?.[part];
  return [
    number(name, each[part], 'm/s'),
    ...(uncertainty === undefined ? [] : [number(`${name}: standard uncertainty`, uncertainty, 'm/s')]),
  ];
}

function modelNumbers(each: ExpectedByModel) {
  const name = modelWords[each.model];
  return [
    ...motion(each, 'ballSpeed', `${name}: ball speed`),
    ...motion(each, 'surfaceSpin', `${name}: surface spin`),
    ...motion(each, 'arrivalSpeed', `${name}: speed on arrival`),
    ...motion(each, 'arrivalSurfaceSpin', `${name}: surface spin on arrival`),
    ...estimateNumbers(`${name}: outcome distance`, each.outcomeDistance, 'm'),
    number(`${name}: most probable class`, each.class, null),
    number(`${name}: probability of draw`, each.probability.draw, '1'),
    number(`${name}: probability of stop`, each.probability.stop, '1'),
    number(`${name}: probability of follow`, each.probability.follow, '1'),
    number(`${name}: residual in standard uncertainties`, each.residual?.standardised ?? null, '1'),
    number(`${name}: residual, measured minus expected`, each.residual?.value ?? null, 'm'),
    number(`${name}: residual, standard uncertainty`, each.residual?.standardUncertainty ?? null, 'm'),
    ...each.inputs.map(({ input, contribution, assumed, group }) =>
      number(
        `${name}: ${input}${assumed ? ' (assumed)' : ''}${group === undefined || group === null ? '' : `, common to ${group}`}, contribution`,
        contribution,
        'm',
      ),
    ),
  ];
}
