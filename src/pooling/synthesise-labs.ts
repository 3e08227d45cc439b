/** The mean of the labs' own slopes, term by term, with how far labs differ. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { betweenVarianceMethods } from '../statistics/between-variance.ts';
import { normalQuantile, studentQuantile } from '../statistics/distributions.ts';
import { labMean, type Synthesis, synthesis } from '../statistics/synthesis.ts';
import { termName } from './canonical-specification.ts';
import { coefficientUnit, synthesisSentence } from './coefficient-words.ts';
import { infer, pValueOf } from './infer.ts';
import type { LabSlopes, OwnSlope } from './lab-slopes.ts';
import { everythingHeld, totalSpread } from './total-spread.ts';

type SynthesisRow = RegressionResult['synthesis'][number];

export interface LabSynthesis {
  readonly rows: readonly SynthesisRow[];
  /** Weight of each contributing lab, for each term. */
  readonly weights: readonly ReadonlyMap<string, number>[];
}

/** Empty when fewer than two labs give slopes with a spread. */
export function synthesiseLabs(labs: readonly LabSlopes[], specification: RegressionSpecification): LabSynthesis {
  const giving = labs.filter(({ own }) => own?.every(({ standardError }) => standardError > 0) ?? false);
  if (giving.length < 2) return { rows: [], weights: [] };
  const rows: SynthesisRow[] = [];
  const weights: Map<string, number>[] = [];
  specification.terms.forEach((term, place) => {
    const slopes = giving.map(({ own }) => (own as NonNullable<LabSlopes['own']>)[place] as OwnSlope);
    const estimates = slopes.map(({ estimate }) => estimate);
    const variances = slopes.map(({ standardError }) => standardError * standardError);
    const found = synthesis(estimates, variances, 'REML', specification.confidence);
    weights.push(new Map(giving.map(({ lab }, at) => [lab, found.weights[at] as number])));
    const commons = slopes.map(({ commonError }) => commonError);
    rows.push(
      rowOf(found, { term, specification, estimates, variances, commons, names: giving.map(({ lab }) => lab) }),
    );
  });
  return { rows, weights };
}

interface Context {
  readonly term: RegressionSpecification['terms'][number];
  readonly specification: RegressionSpecification;
  readonly estimates: readonly number[];
  /** Of the labs' slopes, with what their shots err by in common, and that part alone (standard errors). */
  readonly variances: readonly number[];
  readonly commons: readonly number[];
  readonly names: readonly string[];
}

/**
 * Labs share no rig, so that their common errors are independent: they belong to the variance of each lab's slope, and the
 * spread between labs measures them too.
 */
function spreadOf(found: Synthesis, commons: readonly number[]) {
  let common = 0;
  commons.forEach((error, g) => {
    const part = (found.weights[g] as number) * error;
    common += part * part;
  });
  const scatter = Math.max(0, found.normalError * found.normalError - common);
  return totalSpread(
    {
      standardError: found.hartungKnappError,
      degreesOfFreedom: found.degreesOfFreedom,
      classicalError: Math.sqrt(scatter),
    },
    { rig: common, cue: 0, table: 0 },
    everythingHeld,
  );
}

function rowOf(found: Synthesis, { term, specification, estimates, variances, commons, names }: Context): SynthesisRow {
  const { confidence, response } = specification;
  const { degreesOfFreedom } = found;
  const spread = spreadOf(found, commons);
  const unit = coefficientUnit(response, term);
  const figures = infer(found.estimate, spread, confidence);
  const several = found.labs > 2;
  const row = {
    term: termName(term),
    unit,
    labs: found.labs,
    estimate: found.estimate,
    ...spread,
    interval: several ? figures.interval : null,
    pValue: several ? pValueOf(figures) : null,
    modifiedInterval: several
      ? infer(
          found.estimate,
          { ...spread, standardError: Math.max(spread.standardError, found.modifiedError) },
          confidence,
        ).interval
      : null,
    tau: Math.sqrt(found.tau2),
    tauInterval: { lower: Math.sqrt(found.tau2Interval.lower), upper: Math.sqrt(found.tau2Interval.upper) },
    heterogeneity: { q: found.heterogeneity, degreesOfFreedom, pValue: found.heterogeneityP },
    inconsistency: found.inconsistency,
    excess: found.excess,
    prediction: found.prediction,
    methods: betweenVarianceMethods.map((method) => {
      const other = labMean(estimates, variances, method);
      const reach = normalQuantile(1 - (1 - confidence) / 2) * other.normalError;
      return {
        method,
        unit,
        tau2: other.tau2,
        estimate: other.estimate,
        standardError: other.normalError,
        interval: { lower: other.estimate - reach, upper: other.estimate + reach },
        inconsistency: other.inconsistency,
      };
    }),
    without: several ? leftOut(estimates, variances, names, confidence, unit) : [],
  };
  return { ...row, sentence: synthesisSentence(row, { response, term, confidence }) };
}

function leftOut(
  estimates: readonly number[],
  variances: readonly number[],
  names: readonly string[],
  confidence: number,
  unit: string,
) {
  return names.map((lab, out) => {
    const keep = (values: readonly number[]) => values.filter((_, at) => at !== out);
    const found = labMean(keep(estimates), keep(variances), 'REML');
    const { estimate, tau2, inconsistency, hartungKnappError, degreesOfFreedom } = found;
    const reach = studentQuantile(1 - (1 - confidence) / 2, degreesOfFreedom) * hartungKnappError;
    const interval = found.labs > 2 ? { lower: estimate - reach, upper: estimate + reach } : null;
    return { lab, unit, estimate, interval, tau2, inconsistency };
  });
}
