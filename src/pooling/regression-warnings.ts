/** Remarks that a reader of a pooled regression must see, each with the threshold that called it. */
import type { Warning } from '../../shared/analysis.ts';
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { classicalVariance, leastSquares } from '../statistics/least-squares.ts';
import { rawCoefficient, rawContrast, rawMap } from '../statistics/raw-coefficients.ts';
import { termName } from './canonical-specification.ts';
import type { ShotColumns } from './columns.ts';
import { coverageWarnings } from './coverage-warnings.ts';
import type { ErrorSums } from './error-sums.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import { heterogeneityWarnings } from './heterogeneity-warnings.ts';
import type { LabSlopes } from './lab-slopes.ts';
import { measurementWarnings } from './measurement-warnings.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';
import type { Selection } from './select-shots.ts';

export interface RegressionFindings {
  readonly columns: ShotColumns;
  readonly specification: RegressionSpecification;
  readonly selection: Selection;
  readonly sums: ErrorSums;
  readonly design: RegressionDesign;
  readonly model: RegressionModel;
  readonly slopes: readonly LabSlopes[];
  readonly labs: RegressionResult['labs'];
  readonly coefficients: RegressionResult['coefficients'];
  readonly synthesis: RegressionResult['synthesis'];
  readonly measurementError: RegressionResult['measurementError'];
  readonly curve: RegressionResult['curve'];
  readonly variances: RegressionResult['varianceComponents'];
  readonly unexplained: RegressionResult['unexplained'];
}

export function regressionWarnings(findings: RegressionFindings): Warning[] {
  return [
    ...labWarnings(findings),
    ...termWarnings(findings),
    ...betweenWithin(findings),
    ...heterogeneityWarnings(findings),
    ...measurementWarnings(findings),
    ...multiple(findings),
    ...coverageWarnings(findings),
    ...selectionWarnings(findings),
  ];
}

function labWarnings({ labs, coefficients, specification, model }: RegressionFindings): Warning[] {
  const warnings: Warning[] = [];
  const { alone } = model;
  const informative = labs.filter(({ shareOfInformation }) => shareOfInformation > 1e-12);
  const names = list(labs.map(({ lab }) => lab));
  if (alone) {
    warnings.push({
      code: 'ONE_LAB',
      text: `Standard errors are classical, not cluster-robust: at least one coefficient rests on a single ${specification.clusterBy} (lab ${list(informative.map(({ lab }) => lab))}). Nothing here says how far other labs would differ.`,
    });
  }
  if (labs.length === 2) {
    warnings.push({
      code: 'VERY_FEW',
      text: `Two labs (${names}; fewer than 3): do not rest a claim on the pooled interval, read the slopes of both labs.`,
    });
  } else if (labs.length > 2 && labs.length < 5) {
    const degrees = Math.min(...coefficients.map(({ degreesOfFreedom }) => degreesOfFreedom));
    warnings.push({
      code: 'FEW_LABS',
      text: `Only ${labs.length} labs (fewer than 5). Variation between labs cannot be estimated well; intervals use t with ${rounded(degrees, 3)} degrees of freedom or more. Take this as a description of these labs.`,
    });
  }
  if (!alone && (specification.standardErrors === 'clusterRobust' || model.mixed !== null)) {
    const low = coefficients.filter(({ degreesOfFreedom }) => degreesOfFreedom < 4);
    if (low.length > 0) {
      warnings.push({
        code: 'LOW_DF',
        text: `Few effective degrees of freedom (below 4) for ${list(low.map(({ term, degreesOfFreedom }) => `${term} (${rounded(degreesOfFreedom, 2)})`))}: the p-value is unreliable; do not quote p below 0.01.`,
      });
    }
  }
  if (labs.length > 1) {
    for (const { lab, shareOfInformation } of labs) {
      if (shareOfInformation <= 0.5) continue;
      warnings.push({
        code: 'DOMINANT_LAB',
        text: `Lab ${lab} supplies ${percent(shareOfInformation)} of the information (more than 50 %).`,
      });
    }
  }
  const dropped = labs.filter(({ coefficients: own }) => own === null);
  if (dropped.length > 0 && labs.length > 1 && specification.terms.length > 0) {
    warnings.push({
      code: 'LAB_DROPPED',
      text: `${list(dropped.map(({ lab, shots }) => `${lab} (${shots} shots)`))} cannot give slopes alone (too few shots, or terms that do not vary there); ${specification.labs === 'synthesis' ? 'not used' : 'used only in the pooled fit'}.`,
    });
  }
  return warnings;
}

function termWarnings({ model: { fit }, specification }: RegressionFindings): Warning[] {
  const warnings: Warning[] = [];
  const name = (place: number) => termName(specification.terms[place] as RegressionSpecification['terms'][number]);
  const inflated = [...fit.varianceInflation.keys()].filter((place) => (fit.varianceInflation[place] as number) > 10);
  if (inflated.length > 0) {
    const where = fit.model === 'within' ? ' within labs' : '';
    const parts = inflated.map((place) => {
      const inflation = fit.varianceInflation[place] as number;
      return `${name(place)} shares ${percent(1 - 1 / inflation)} of its variance${where} with the other terms (standard error ${rounded(Math.sqrt(inflation), 2)} times as large)`;
    });
    warnings.push({
      code: 'COLLINEAR',
      text: `${list(parts)}; variance inflation above 10. The separate slopes are poorly told apart.`,
    });
  }
  if (fit.poorlyConditioned) {
    warnings.push({
      code: 'NUMERIC',
      text: `A term keeps less than 1e-4 of its variance beside the others: about ${digitsLeft(fit.varianceInflation)} digits of the coefficients are left.`,
    });
  }
  const high = specification.terms.filter((term) => term.some((factor) => factor.power > 3));
  if (high.length > 0) {
    warnings.push({
      code: 'HIGH_POWER',
      text: `${list(high.map(termName))}: powers above 3 follow the noise and swing between the data; never read such a curve outside its range.`,
    });
  }
  return warnings;
}

/** 15 - log10 of the condition, which the largest variance inflation stands for. */
function digitsLeft(inflation: Float64Array): number {
  let digits = 15;
  for (let condition = Math.max(...inflation); condition >= 10; condition /= 10) digits -= 1;
  return digits;
}

/** Compares the slopes within labs with those that ignore labs. */
function betweenWithin({ design, model: { fit }, specification, labs }: RegressionFindings): Warning[] {
  if (labs.length < 2 || specification.terms.length === 0 || fit.model === 'throughOrigin') return [];
  const other = leastSquares(design.labs, fit.model === 'within' ? 'pooled' : 'within');
  if (!other.ok) return [];
  const [within, pooled] = fit.model === 'within' ? [fit, other.fit] : [other.fit, fit];
  const map = rawMap(design.basis);
  const apart = specification.terms.filter((_, row) => {
    const difference = rawCoefficient(map, row, within.slopes) - rawCoefficient(map, row, pooled.slopes);
    const error = Math.sqrt(classicalVariance(within, { atMeans: 0, slopes: rawContrast(map, row) }));
    return Math.abs(difference) > 2 * error;
  });
  if (apart.length === 0) return [];
  const advice =
    fit.model === 'within'
      ? 'the slopes given here are those within labs'
      : 'use labs: fixed for the slopes within labs';
  return [
    {
      code: 'BETWEEN_WITHIN',
      text: `The slope of ${list(apart.map(termName))} within labs differs by more than 2 standard errors from the one that ignores labs: differences between labs are mixed up with the predictor; ${advice}.`,
    },
  ];
}

/** Several slopes are several chances of a small p. */
function multiple({ coefficients }: RegressionFindings): Warning[] {
  const adjusted = coefficients.filter(({ holmPValue }) => holmPValue !== null);
  if (adjusted.length < 2) return [];
  const parts = adjusted.map(({ term, holmPValue }) => `${term} ${rounded(holmPValue as number, 2)}`);
  return [
    {
      code: 'MULTIPLE',
      text: `${adjusted.length} slopes are tested at once (more than 1); p-values adjusted for that (Holm): ${list(parts)}. Other questions put to the same shots count too, and are not counted here.`,
    },
  ];
}

function selectionWarnings({ columns, selection, specification }: RegressionFindings): Warning[] {
  const warnings: Warning[] = [];
  const absent = selection.missing.reduce((sum, { shots }) => sum + shots, 0);
  const candidates = absent + selection.indices.length;
  if (absent > 0.05 * candidates) {
    const parts = selection.missing.map(({ variable, lab, shots }) => `${shots} without ${variable} in ${lab}`);
    warnings.push({
      code: 'MISSING',
      text: `${absent} of ${candidates} shots (more than 5 %) lack a value and were left out: ${list(parts)}.`,
    });
  }
  if (specification.filter.includeReported) {
    const reported = selection.indices.reduce((sum, row) => sum + (columns.fromTrack[row] === 0 ? 1 : 0), 0);
    if (reported > 0) {
      warnings.push({
        code: 'REPORTED_INCLUDED',
        text: `${reported} of ${selection.indices.length} shots are as reported by their lab, not recomputed from a track.`,
      });
    }
  }
  return warnings;
}
