/** From the track to cue speed and cue acceleration, step by step. */
import type { BudgetLine, DerivedShot } from '../../../shared/derivation.ts';
import type { DerivationStep } from '../../../shared/explanation.ts';
import type { Shot } from '../../../shared/shot.ts';
import type { SettledGear } from '../settle-gear.ts';
import { number, step } from './step.ts';

const trimWords = {
  correction: 'taken off: the gap closes early to the eye',
  undecided: 'undecided: contact may have begun in any of them',
  unknown: 'of unknown meaning: contact may have begun in any of them',
} as const;

/** Empty without a track. */
export function strokeSteps(shot: Shot, gear: SettledGear, derived: DerivedShot): DerivationStep[] {
  const { fit, cueSpeed, firstContact } = derived;
  if (shot.cueTrack === undefined || fit === null || firstContact === null) return [];
  const steps = [
    contactStep(shot, gear, firstContact),
    step(
      'fit-window',
      'Window of the fit',
      `Points before contact were kept: the last ${fit.window} s, in time relative to first contact.`,
      [
        number('points sent', shot.cueTrack.positions.length, null),
        number('window', fit.window, 's'),
        number('points fitted', fit.points, null),
      ],
    ),
    step(
      'tracker-jumps',
      'Tracker jumps',
      fit.outlyingFrames.length === 0
        ? 'No frame strays from the track beyond chance.'
        : `Frames that stray from the track beyond chance, ${fit.outlyingLeftOut ? 'left out' : 'kept, because the rig only reports them'}: ${fit.outlyingFrames.join(', ')}.`,
      [number('outlying frames', fit.outlyingFrames.length, null)],
    ),
    step(
      'fit-order',
      'Order of the polynomial',
      fit.fixedByRig
        ? `The rig fixes the order: ${fit.order}.`
        : `Orders ${fit.candidates.map(({ order }) => order).join(', ')} were weighted by AICc; order ${fit.order} has the largest weight.`,
      [...fit.candidates.flatMap(candidateNumbers), ...fit.orders.flatMap(diagnosisNumbers)],
      fit.fixedByRig ? null : 'AICc = n ln(RSS/n) + 2K + 2K(K+1)/(n-K-1), K = order + 2; w ~ exp(-AICc/2)',
    ),
    step(
      'fit-uncertainty',
      'Uncertainty of the fit',
      `${
        fit.uncertaintyInflation > 1
          ? 'Neighbouring residuals follow one another, so the scatter of the fit was widened for it.'
          : 'Neighbouring residuals do not follow one another beyond chance; the scatter of the fit stands as it is.'
      }${derived.flags.includes('intervalNotAssured') ? ` ${whyNotAssured(fit)}` : ''}`,
      [
        number('correlation of neighbouring residuals', fit.lagOneCorrelation, '1'),
        number('Durbin-Watson', fit.durbinWatson, '1'),
        number('first-order autoregression of the noise', fit.autoregression, '1'),
        number('factor on the uncertainty', fit.uncertaintyInflation, '1'),
        ...contributions(derived, 'cueSpeed', 'm/s', ['shot']),
        ...contributions(derived, 'cueAcceleration', 'm/s2', ['shot']),
      ],
      'u = sum_q w_q sqrt(s_q^2 + (v_q - v)^2)',
    ),
    step(
      'fit-sensitivity',
      'Window and order',
      fit.exceedsNoise
        ? 'Other windows or orders change the result by more than noise explains: the largest such change is part of the uncertainty, and the shot is flagged.'
        : 'Other windows and orders change the result by no more than noise explains: nothing is added.',
      [
        ...fit.sensitivity.flatMap(sensitivityNumbers),
        ...(fit.resolvingWindow === null
          ? []
          : [number('window that would resolve the acceleration', fit.resolvingWindow, 's')]),
      ],
      'var(difference) = difference of variances, for nested windows and orders',
    ),
    step(
      'common-errors',
      'Errors common to the rig',
      'The errors of scale and clock are the same for every shot of the rig and do not average away among them.',
      [
        number('relative uncertainty of the scale', gear.scaleUncertainty, '1'),
        number('relative uncertainty of the clock', gear.clockUncertainty, '1'),
        ...contributions(derived, 'cueSpeed', 'm/s', ['rig']),
        ...contributions(derived, 'cueAcceleration', 'm/s2', ['rig']),
        number('covariance of speed and acceleration', derived.covarianceSpeedAcceleration, 'm2/s3'),
      ],
      'u(V)^2 = u_fit^2 + V^2 (u_s^2 + u_c^2); u(a)^2 = u_fit^2 + a^2 (u_s^2 + 4 u_c^2); cov(V, a) = cov_fit + V a (u_s^2 + 2 u_c^2)',
    ),
  ];
  if (cueSpeed === null) return steps;
  return [
    ...steps,
    step(
      'intervals',
      'Cue speed and cue acceleration at first contact',
      fit.fixedByRig
        ? 'Values and intervals are those of the fixed order; the intervals are widened by the common errors.'
        : 'The values are those of the weighted orders; the intervals are those of the highest order, widened by the common errors.',
      [
        ...estimateNumbers('cue speed', cueSpeed, 'm/s'),
        ...estimateNumbers('cue acceleration', derived.cueAcceleration, 'm/s2'),
      ],
    ),
  ];
}

/** The order goes first: more points would not help there. */
function whyNotAssured({ fixedByRig, order }: Fit): string {
  const said = 'The track cannot show that the intervals hold';
  return fixedByRig && order < 4
    ? `${said}: they do if the stroke has no higher order than ${order}; a higher term as large as the uncertainty stays unseen beside it.`
    : `${said}: so few independent points for each coefficient do not tell correlated noise from chance well enough.`;
}

function contactStep(shot: Shot, gear: SettledGear, found: NonNullable<DerivedShot['firstContact']>): DerivationStep {
  const trimmed = shot.contact?.trimmedStart ?? 0;
  const start = trimmed === 0 ? '' : ` ${trimmed} frames trimmed at the start are ${trimWords[gear.rig.trimMeaning]}.`;
  const done =
    found.source === 'gap'
      ? 'The tracked gap between tip and ball was carried on to zero.'
      : `Contact first seen in frame ${shot.contact?.closedFrame} began in the frame interval before it.${start}`;
  const { declared, fromBreak, fromGap } = found;
  return step(
    'first-contact',
    'Instant of first contact',
    done,
    [
      number('first contact', found.frame, 'frame'),
      number('standard uncertainty', found.standardUncertainty, 'frame'),
      number('standard uncertainty', found.standardUncertainty / gear.captureRate, 's'),
      number('as declared', declared.frame, 'frame'),
      number('as declared: standard uncertainty', declared.standardUncertainty, 'frame'),
      ...(fromGap === null
        ? []
        : [
            number('where the gap closes', fromGap.frame, 'frame'),
            number('where the gap closes: standard uncertainty', fromGap.standardUncertainty, 'frame'),
          ]),
      ...(fromBreak === null
        ? []
        : [
            number('break found in the track, for comparison', fromBreak.frame, 'frame'),
            number('break: standard uncertainty', fromBreak.standardUncertainty, 'frame'),
            number('break: speed lost', fromBreak.speedLoss, 'm/s'),
          ]),
    ],
    found.source === 'gap'
      ? 'u(t) = u(gap at t) / closing speed'
      : 't0 = (k - 1/2) dt, u = dt/sqrt(12), when nothing is trimmed',
  );
}

type Fit = NonNullable<DerivedShot['fit']>;

function candidateNumbers(each: Fit['candidates'][number]) {
  return [
    number(`order ${each.order}: weight`, each.weight, '1'),
    number(`order ${each.order}: cue speed`, each.cueSpeed, 'm/s'),
    number(`order ${each.order}: standard uncertainty`, each.cueSpeedUncertainty, 'm/s'),
    number(`order ${each.order}: cue acceleration`, each.cueAcceleration, 'm/s2'),
    number(`order ${each.order}: standard uncertainty`, each.cueAccelerationUncertainty, 'm/s2'),
  ];
}

function diagnosisNumbers(each: Fit['orders'][number]) {
  return [
    number(`order ${each.order}: residual standard deviation`, each.residualStandardDeviation, 'm'),
    number(`order ${each.order}: F against the order below`, each.fStatistic, '1'),
    number(`order ${each.order}: PRESS`, each.press, 'm2'),
  ];
}

function sensitivityNumbers(each: Fit['sensitivity'][number]) {
  const where = `${Number((each.window * 1000).toPrecision(4))} ms, order ${each.order}`;
  return [
    number(`${where}: cue speed`, each.cueSpeed, 'm/s'),
    number(`${where}: cue acceleration`, each.cueAcceleration, 'm/s2'),
  ];
}

export function estimateNumbers(name: string, estimate: DerivedShot['cueSpeed'], unit: string) {
  if (estimate === null) return [number(name, null, unit)];
  return [
    number(name, estimate.value, unit),
    number(`${name}: standard uncertainty`, estimate.standardUncertainty, unit),
    number(`${name}: 95 % from`, estimate.lower, unit),
    number(`${name}: 95 % to`, estimate.upper, unit),
  ];
}

export function contributions(
  derived: DerivedShot,
  result: BudgetLine['result'],
  unit: string,
  commonTo: readonly BudgetLine['commonTo'][],
) {
  return derived.budget
    .filter((line) => line.result === result && commonTo.includes(line.commonTo))
    .map((line) => {
      const group = line.group === null ? '' : `, common to ${line.group}`;
      return number(`${result}: ${line.input} (type ${line.kind}${group})`, line.contribution, unit);
    });
}
