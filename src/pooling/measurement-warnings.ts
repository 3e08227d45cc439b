/** Remarks on what measurement errors do to the slopes: attenuation, errors that go together or are shared, coarse times. */
import type { Warning } from '../../shared/analysis.ts';
import { quantities } from '../../shared/quantities.ts';
import { coarseTimes } from './coarse-times.ts';
import { type ErrorSum, isUncertain } from './error-sums.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import type { RegressionFindings } from './regression-warnings.ts';

export function measurementWarnings(findings: RegressionFindings): Warning[] {
  return [
    ...attenuation(findings),
    ...sharedErrors(findings),
    ...commonErrors(findings),
    ...coarseTimes(findings),
    ...unresolvedAccelerations(findings),
    ...statedTooLarge(findings),
  ];
}

function totalOf(byLab: readonly ErrorSum[] | null): ErrorSum {
  let [known, own, total] = [0, 0, 0];
  for (const lab of byLab ?? []) {
    known += lab.known;
    own += lab.own;
    total += lab.total;
  }
  return { known, own, total };
}

/**
 * Reliability = (spread - error variance) / spread, spread taken within labs when labs are fixed (within labs it is
 * smaller, so attenuation is worse), errors without what shots of a rig share. Judged on each measured variable that enters
 * as a term of its own. The uncertainties are those of the values, which for speed and acceleration are averages over
 * orders: the wider 95 % interval of a shot makes a promise about that shot and is no error variance
 * (tests/studies/acceleration-errors.md).
 */
function attenuation({ specification, sums, design, model }: RegressionFindings): Warning[] {
  const within = specification.labs === 'fixed' || specification.labs === 'synthesis';
  const corrected = specification.measurementError === 'corrected';
  return specification.terms.flatMap((term, place): Warning[] => {
    const [factor] = term;
    if (term.length !== 1 || factor === undefined || factor.power !== 1 || !isUncertain(factor.variable)) return [];
    const { known, own } = totalOf(sums.of(factor.variable));
    if (known === 0) return [];
    const errorVariance = own / known;
    // A linear column is (x - c) / h when there is an intercept, and x / scale through the origin.
    const unit = design.basis.chebyshev[place]
      ? (design.basis.halfWidths[design.predictors.indexOf(factor.variable)] as number)
      : (design.basis.scales[place] as number);
    const { fit } = model;
    const degrees = fit.model === 'within' ? fit.count - fit.groups : fit.count - (fit.model === 'pooled' ? 1 : 0);
    const spread = (fit.scales[place] as number) * (fit.scales[place] as number) * unit * unit;
    const reliability = 1 - (errorVariance * degrees) / spread;
    if (reliability >= 0.95) return [];
    const { label, siUnit } = quantities[factor.variable];
    const where = within ? ' within labs' : '';
    const error = `standard uncertainty ${rounded(Math.sqrt(errorVariance), 2)} ${siUnit} against a spread of ${rounded(Math.sqrt(spread / degrees), 2)} ${siUnit}${where}`;
    const text =
      reliability <= 0
        ? `The spread of ${label} is no larger than its measurement error (${error}): its slope says nothing about the true one.`
        : reliability < 0.3
          ? `Most of the spread of ${label} is measurement error (${error}; reliability ${rounded(reliability, 2)}, below 0.3): its slope is shrunk towards zero by about ${percent(1 - reliability)} and is not to be relied on${corrected ? '; nor is the corrected one, which the error of the uncertainties themselves throws far' : ''}.`
          : `Measurement error of ${label} (${error}; reliability ${rounded(reliability, 3)}, below 0.95) shrinks its slope towards zero by about ${percent(1 - reliability)}; ${corrected ? 'the corrected slope stands beside it' : 'no correction is applied'}.`;
    return [{ code: 'ATTENUATION', text }];
  });
}

/** Speed and acceleration of one fit err together. */
function sharedErrors({ sums, specification }: RegressionFindings): Warning[] {
  const covariance = totalOf(sums.speedAndAcceleration);
  const [speed, acceleration] = [totalOf(sums.of('cueSpeed')), totalOf(sums.of('cueAcceleration'))];
  if (covariance.known === 0 || !(speed.own > 0) || !(acceleration.own > 0)) return [];
  const mean = (sum: ErrorSum) => sum.own / sum.known;
  const correlation = mean(covariance) / Math.sqrt(mean(speed) * mean(acceleration));
  return [
    {
      code: 'ERR_CORR',
      text: `Cue speed and cue acceleration come from one fit of each track; their measurement errors correlate at about ${rounded(correlation, 2)}, which tilts both slopes. ${specification.measurementError === 'corrected' ? 'The corrected slopes take account of it.' : 'No correction is applied.'}`,
    },
  ];
}

/** Share of the variance above which shared errors are worth a remark. */
const commonShare = 0.25;

/** More shots do not help where most of the error is shared. */
function commonErrors({ coefficients }: RegressionFindings): Warning[] {
  const strong = coefficients.filter(
    ({ commonError, standardError }) => commonError * commonError > commonShare * standardError * standardError,
  );
  if (strong.length === 0) return [];
  const parts = strong.map(
    ({ term, commonError, standardError }) =>
      `${term} ${percent((commonError * commonError) / (standardError * standardError))}`,
  );
  return [
    {
      code: 'COMMON_ERROR',
      text: `Much of the variance (more than ${percent(commonShare)}) is an error that all shots of a rig, cue or table share, such as a scale: ${list(parts)}. More shots with the same gear do not lessen it; a better calibration or further rigs do.`,
    },
  ];
}

const unresolvedShare = 0.1;

/** An acceleration below twice its uncertainty may have either sign. */
function unresolvedAccelerations({ columns, specification, selection: { indices } }: RegressionFindings): Warning[] {
  const asked = specification.terms.flat().some(({ variable }) => variable === 'cueAcceleration');
  if (!asked && specification.response !== 'cueAcceleration') return [];
  const values = columns.variables.cueAcceleration;
  const errors = columns.uncertainties.cueAcceleration;
  let unresolved = 0;
  for (let at = 0; at < indices.length; at += 1) {
    const row = indices[at] as number;
    if (Math.abs(values[row] as number) < 2 * (errors[row] as number)) unresolved += 1;
  }
  if (unresolved <= unresolvedShare * indices.length) return [];
  return [
    {
      code: 'ACCEL_UNRESOLVED',
      text: `${unresolved} of ${indices.length} shots (more than ${percent(unresolvedShare)}) have a cue acceleration below twice its standard uncertainty: whether these strokes sped up or slowed down is not known.`,
    },
  ];
}

function statedTooLarge({ unexplained }: RegressionFindings): Warning[] {
  if (unexplained === null || unexplained.standardDeviation !== null) return [];
  return [{ code: 'STATED_TOO_LARGE', text: unexplained.sentence }];
}
