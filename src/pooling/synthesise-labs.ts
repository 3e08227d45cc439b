/** The mean of the labs' own slopes, term by term, with how far labs differ. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { betweenVarianceMethods } from '../statistics/between-variance.ts';
import { type Synthesis, synthesis } from '../statistics/synthesis.ts';
import { termName } from './canonical-specification.ts';
import { coefficientUnit, synthesisSentence } from './coefficient-words.ts';
import { infer, pValueOf } from './infer.ts';
import type { LabSlopes } from './lab-slopes.ts';

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
    const slopes = giving.map(
      ({ own }) => (own as NonNullable<LabSlopes['own']>)[place] as { estimate: number; standardError: number },
    );
    const estimates = slopes.map(({ estimate }) => estimate);
    const variances = slopes.map(({ standardError }) => standardError * standardError);
    const found = synthesis(estimates, variances, 'REML', specification.confidence);
    weights.push(new Map(giving.map(({ lab }, at) => [lab, found.weights[at] as number])));
    rows.push(rowOf(found, { term, specification, estimates, variances, names: giving.map(({ lab }) => lab) }));
  });
  return { rows, weights };
}

interface Context {
  readonly term: RegressionSpecification['terms'][number];
  readonly specification: RegressionSpecification;
  readonly estimates: readonly number[];
  readonly variances: readonly number[];
  readonly names: readonly string[];
}

function rowOf(found: Synthesis, { term, specification, estimates, variances, names }: Context): SynthesisRow {
  const { confidence, response } = specification;
  const { degreesOfFreedom } = found;
  const spread = { standardError: found.hartungKnappError, degreesOfFreedom };
  const figures = infer(found.estimate, spread, confidence);
  const several = found.labs > 2;
  const row = {
    term: termName(term),
    unit: coefficientUnit(response, term),
    labs: found.labs,
    estimate: found.estimate,
    standardError: found.hartungKnappError,
    degreesOfFreedom,
    interval: several ? figures.interval : null,
    pValue: several ? pValueOf(figures) : null,
    modifiedInterval: several
      ? infer(found.estimate, { ...spread, standardError: found.modifiedError }, confidence).interval
      : null,
    tau: Math.sqrt(found.tau2),
    tauInterval: { lower: Math.sqrt(found.tau2Interval.lower), upper: Math.sqrt(found.tau2Interval.upper) },
    heterogeneity: { q: found.heterogeneity, degreesOfFreedom, pValue: found.heterogeneityP },
    inconsistency: found.inconsistency,
    excess: found.excess,
    prediction: found.prediction,
    methods: betweenVarianceMethods.map((method) => {
      const other = synthesis(estimates, variances, method, confidence);
      return {
        method,
        tau2: other.tau2,
        estimate: other.estimate,
        standardError: other.normalError,
        inconsistency: other.inconsistency,
      };
    }),
    without: several ? leftOut(estimates, variances, names, confidence) : [],
  };
  return { ...row, sentence: synthesisSentence(row, { response, term, confidence }) };
}

function leftOut(
  estimates: readonly number[],
  variances: readonly number[],
  names: readonly string[],
  confidence: number,
) {
  return names.map((lab, out) => {
    const keep = (values: readonly number[]) => values.filter((_, at) => at !== out);
    const { estimate, tau2, inconsistency } = synthesis(keep(estimates), keep(variances), 'REML', confidence);
    return { lab, estimate, tau2, inconsistency };
  });
}
