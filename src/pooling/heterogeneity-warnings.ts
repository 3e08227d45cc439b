/** Remarks on how far labs agree, and on what the choice of model takes for granted. */
import type { Warning } from '../../shared/analysis.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import type { RegressionFindings } from './regression-warnings.ts';

export function heterogeneityWarnings(findings: RegressionFindings): Warning[] {
  return [...slopesDiffer(findings), ...noise(findings), ...influence(findings), ...assumptions(findings)];
}

/** Q test below 0.10 or tau above 0; and tau of exactly 0 with fewer than ten labs. */
function slopesDiffer({ synthesis, specification }: RegressionFindings): Warning[] {
  const level = `${rounded(specification.confidence * 100, 4)} %`;
  return synthesis.flatMap((row): Warning[] => {
    const { term, unit, tau, tauInterval, heterogeneity, prediction, inconsistency } = row;
    const interval = `${rounded(tauInterval.lower, 2)} to ${rounded(tauInterval.upper, 2)}`;
    if (tau > 0 || heterogeneity.pValue < 0.1) {
      const further =
        prediction === null
          ? ''
          : ` A further lab is expected between ${rounded(prediction.lower, 3)} and ${rounded(prediction.upper, 3)} ${unit}.`;
      return [
        {
          code: 'SLOPES_DIFFER',
          text: `Slopes of ${term} ${heterogeneity.pValue < 0.1 ? 'differ between labs beyond what their own errors explain' : 'may differ between labs'}: standard deviation ${rounded(tau, 2)} ${unit} (above 0; ${level} interval ${interval} by Q profile), I2 ${percent(inconsistency)}, Q test p = ${rounded(heterogeneity.pValue, 2)}${heterogeneity.pValue < 0.1 ? ' (below 0.10)' : ' (not below 0.10, so this may be chance)'}. A single slope is an average.${further}`,
        },
      ];
    }
    if (row.labs >= 10) return [];
    const limit =
      tauInterval.upper > 0
        ? `Its ${level} upper limit is ${rounded(tauInterval.upper, 2)} ${unit} by Q profile.`
        : `The Q profile gives no ${level} interval: the slopes agree more closely than their own errors lead one to expect.`;
    return [
      {
        code: 'TAU_BOUNDARY',
        text: `The variation of the slope of ${term} between labs is estimated as 0 with ${row.labs} labs (fewer than 10): that is absence of evidence. ${limit}`,
      },
    ];
  });
}

const noiseRatio = 4;

function noise({ slopes }: RegressionFindings): Warning[] {
  const known = slopes.flatMap(({ lab, residual }) =>
    residual !== null && residual.degreesOfFreedom >= 5 ? [{ lab, ...residual }] : [],
  );
  if (known.length < 2) return [];
  const sorted = [...known].sort((a, b) => a.variance - b.variance);
  const [quiet, loud] = [sorted[0] as (typeof known)[number], sorted.at(-1) as (typeof known)[number]];
  if (!(loud.variance > noiseRatio * quiet.variance)) return [];
  return [
    {
      code: 'HETEROSC',
      text: `Labs differ in noise: the residual variance of ${loud.lab} is ${quiet.variance > 0 ? `${rounded(loud.variance / quiet.variance, 2)} times` : 'far above'} that of ${quiet.lab} (more than ${noiseRatio} times). The synthesis of lab slopes, which weighs labs by their precision, is to be preferred.`,
    },
  ];
}

function influence({ labs }: RegressionFindings): Warning[] {
  const strong = labs.flatMap(({ lab, without }) => {
    const moved = without?.coefficients.filter(({ change }) => change !== null && Math.abs(change) > 1) ?? [];
    return moved.map(
      ({ term, change }) => `${term} by ${rounded(Math.abs(change as number), 2)} standard errors without ${lab}`,
    );
  });
  if (strong.length === 0) return [];
  return [{ code: 'LAB_INFLUENCE', text: `One lab moves the answer by more than 1 standard error: ${list(strong)}.` }];
}

function assumptions({ specification, labs, variances, model }: RegressionFindings): Warning[] {
  const warnings: Warning[] = [];
  const several = labs.length > 1;
  if (specification.labs === 'ignored' && several) {
    warnings.push({
      code: 'LABS_IGNORED',
      text: 'Labs are ignored: where labs differ in level and in what they play, the slope mixes both. Show it as a diagnostic only.',
    });
  }
  if (variances !== null && specification.terms.length > 0) {
    warnings.push({
      code: 'EQUAL_SLOPES',
      text: 'Random lab levels take the slopes of all labs as equal. Where they are not, these intervals are too short (in simulation with slopes that differ by 15 %, 95 % intervals held the truth about half the time): compare with the mean of lab slopes.',
    });
  }
  for (const { component, standardDeviation, interval, unit } of variances?.components ?? []) {
    if (component === 'residual' || standardDeviation > 0) continue;
    const limit =
      interval.upper === null
        ? 'no upper limit can be given'
        : `its upper limit is ${rounded(interval.upper, 2)} ${unit}`;
    warnings.push({
      code: 'TAU_BOUNDARY',
      text: `The variation between ${component}s is estimated as 0: that is absence of evidence, ${limit}.`,
    });
  }
  if (variances !== null && !variances.converged) {
    warnings.push({
      code: 'NOT_CONVERGED',
      text: 'The search for the variances did not settle to its last digits; do not quote more than three.',
    });
  }
  if (specification.clusterBy !== 'lab') {
    warnings.push({
      code: 'CLUSTERS_WITHIN_LABS',
      text: `Standard errors allow for shots of one ${specification.clusterBy} erring together, not for all shots of one lab: they say how sure the slope is in these labs, not in others.`,
    });
  }
  if (model.unknownParts > 0) {
    const what = specification.labs === 'sessionsInLabs' ? 'session date' : specification.clusterBy;
    warnings.push({
      code: 'PART_UNKNOWN',
      text: `${model.unknownParts} shots name no ${what}; those of one lab are taken as one.`,
    });
  }
  return warnings;
}
