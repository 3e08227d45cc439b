/** The fitted model of a question: one face over least squares, random intercepts and nested sessions. */
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { type Cluster, clusterRobustOf, clustersOfGroups, clustersWithin } from '../statistics/cluster-robust.ts';
import { leastSquaresMovement, mixedMovement } from '../statistics/common-errors.ts';
import { classicalJointTest, clusterRobustJointTest, type JointTest } from '../statistics/joint-test.ts';
import {
  type Contrast,
  classicalVariance,
  type LeastSquares,
  type LeastSquaresModel,
  type LeastSquaresOutcome,
  leastSquares,
} from '../statistics/least-squares.ts';
import { type MixedModel, mixedContrast, mixedModel } from '../statistics/mixed-model.ts';
import { emptyMoments, type Moments } from '../statistics/moments.ts';
import { type RawMap, rawCoefficient, rawContrast, rawMap } from '../statistics/raw-coefficients.ts';
import { termName } from './canonical-specification.ts';
import { type CommonUnit, commonVariances } from './common-errors.ts';
import { list } from './figures-in-words.ts';
import type { RegressionDesign } from './regression-design.ts';
import {
  everythingHeld,
  type HeldBySpread,
  nothingHeld,
  type Spread,
  type StatisticalSpread,
  totalSpread,
} from './total-spread.ts';

export interface RegressionModel {
  readonly map: RawMap;
  /** Least squares of the same terms: the answer itself, or beside random intercepts the pooled fit. */
  readonly fit: LeastSquares;
  /** Null unless labs have random intercepts. */
  readonly mixed: MixedModel | null;
  /** Slopes of the basis columns, means of the columns, fitted response at those means less the response offset. */
  readonly slopes: Float64Array;
  readonly means: Float64Array;
  readonly atMeans: number;
  /** Whether the level is a parameter; labs fixed have one each, and a fit through the origin has none. */
  readonly level: boolean;
  readonly spread: (contrasts: readonly Contrast[]) => Spread[];
  /** Test of several contrasts being zero, of the statistical part alone; null where there is none. */
  readonly joint: (contrasts: readonly Contrast[], estimates: readonly number[]) => JointTest | null;
  /** True when one lab alone carries a coefficient, so that cluster-robust errors cannot be had. */
  readonly alone: boolean;
  /** Shots whose rig, player or session is not known. */
  readonly unknownParts: number;
}

/** Below this share of its variance a cluster-robust error is too small to be given: one lab alone carries the rest. */
const leastCaptured = 0.9;

/** A model with the spread that the shots show; errors that they share are added by `fitRegression`. */
interface StatisticalModel extends Omit<RegressionModel, 'spread'> {
  readonly statistical: (contrasts: readonly Contrast[]) => StatisticalSpread[];
  readonly held: HeldBySpread;
}

/**
 * Fits the model. Throws not-estimable with the reason, request-invalid for choices that do not go together.
 * @param units what shots err by in common
 */
export function fitRegression(
  design: RegressionDesign,
  specification: RegressionSpecification,
  shots: number,
  units: readonly CommonUnit[],
): RegressionModel {
  const { statistical, held, ...model } = statisticalModel(design, specification, shots);
  const { fit, mixed } = model;
  const level = (lab: number) => design.labs[lab] as Moments;
  const blocks = new Map(
    [...design.labs.keys()].filter((lab) => level(lab).count > 0).map((lab, block) => [lab, block]),
  );
  return {
    ...model,
    spread: (contrasts) => {
      const common = commonVariances(
        units,
        ({ lab, moments }, perturbation) =>
          mixed === null
            ? leastSquaresMovement(fit, level(lab), moments, perturbation)
            : mixedMovement(mixed, blocks.get(lab) as number, level(lab), moments, perturbation),
        contrasts,
      );
      return statistical(contrasts).map((spread, place) =>
        totalSpread(spread, common[place] as (typeof common)[number], held),
      );
    },
  };
}

function statisticalModel(
  design: RegressionDesign,
  specification: RegressionSpecification,
  shots: number,
): StatisticalModel {
  const map = rawMap(design.basis);
  const fit = fitted(leastSquares(design.labs, modelOf(specification)), specification, shots);
  if (specification.labs === 'randomIntercept' || specification.labs === 'sessionsInLabs') {
    return mixedFit(design, specification, fit, map);
  }
  const common = {
    map,
    fit,
    mixed: null,
    slopes: fit.slopes,
    means: fit.means,
    atMeans: fit.means[map.terms] as number,
    level: fit.model === 'pooled',
  };
  const classical = (contrasts: readonly Contrast[]): StatisticalSpread[] =>
    contrasts.map((contrast) => {
      const standardError = Math.sqrt(classicalVariance(fit, contrast));
      return { standardError, degreesOfFreedom: fit.degreesOfFreedom, classicalError: standardError };
    });
  const classicalJoint: RegressionModel['joint'] = (contrasts, estimates) =>
    classicalJointTest(fit, contrasts, estimates);
  if (specification.standardErrors === 'classical') {
    return {
      ...common,
      statistical: classical,
      joint: classicalJoint,
      held: nothingHeld,
      alone: false,
      unknownParts: 0,
    };
  }
  const { clusters, intercept, unknown } = clustersOf(design, specification, fit);
  const robust = (contrasts: readonly Contrast[]) => clusterRobustOf(fit, clusters, contrasts, intercept);
  const rows = rowsOf(common, specification).map((row) => contrastOf(common, row));
  const alone = clusters.length < 2 || robust(rows).some(({ captured }) => !(captured >= leastCaptured));
  if (alone) {
    return {
      ...common,
      statistical: classical,
      joint: classicalJoint,
      held: nothingHeld,
      alone,
      unknownParts: unknown,
    };
  }
  const statistical = (contrasts: readonly Contrast[]): StatisticalSpread[] => {
    const plain = classical(contrasts);
    return robust(contrasts).map(({ cr2, degreesOfFreedom }, place) => {
      const beside = plain[place] as StatisticalSpread;
      // A contrast that no cluster moves, such as the curve at the mean of the data, has no spread.
      return Number.isFinite(degreesOfFreedom)
        ? { standardError: Math.sqrt(cr2), degreesOfFreedom, classicalError: beside.classicalError }
        : { ...beside, standardError: 0 };
    });
  };
  return {
    ...common,
    statistical,
    joint: (contrasts, estimates) => clusterRobustJointTest(fit, clusters, contrasts, estimates, intercept),
    held: heldBy(specification.clusterBy),
    alone,
    unknownParts: unknown,
  };
}

/** A lab is all its rigs, cues and tables; a rig is itself alone; a player uses what others use. */
function heldBy(clusterBy: RegressionSpecification['clusterBy']): HeldBySpread {
  if (clusterBy === 'lab') return everythingHeld;
  return clusterBy === 'rig' ? { ...nothingHeld, rig: true } : nothingHeld;
}

function modelOf({ labs, intercept }: RegressionSpecification): LeastSquaresModel {
  if (!intercept) return 'throughOrigin';
  return labs === 'fixed' || labs === 'synthesis' ? 'within' : 'pooled';
}

/** Clusters of the standard errors: labs, or parts of labs. */
function clustersOf(
  design: RegressionDesign,
  { clusterBy }: RegressionSpecification,
  fit: LeastSquares,
): { readonly clusters: readonly Cluster[]; readonly intercept: boolean; readonly unknown: number } {
  if (clusterBy === 'lab') {
    return { clusters: clustersOfGroups(fit, design.labs), intercept: fit.model === 'pooled', unknown: 0 };
  }
  const { parts, unknown } = design.partsBy(clusterBy);
  const own = parts.map(({ lab, moments }) => ({ group: lab, moments }));
  return { clusters: clustersWithin(fit, design.labs, own), intercept: fit.model !== 'throughOrigin', unknown };
}

function mixedFit(
  design: RegressionDesign,
  specification: RegressionSpecification,
  fit: LeastSquares,
  map: RawMap,
): StatisticalModel {
  const nested = specification.labs === 'sessionsInLabs';
  const sessions = nested ? design.partsBy('sessionDate') : null;
  const cells = design.labs.map((moments, lab): readonly Moments[] =>
    sessions === null ? [moments] : sessions.parts.flatMap((part) => (part.lab === lab ? [part.moments] : [])),
  );
  const present = cells.map((own) => (own.length === 0 ? [emptyMoments(map.terms + 1)] : own));
  if (design.labs.filter(({ count }) => count > 0).length < 2) {
    throw new Refusal('not-estimable', 'one lab alone says nothing about how labs vary: ask with labs ignored');
  }
  if (sessions !== null && sessions.parts.length <= design.labs.filter(({ count }) => count > 0).length) {
    throw new Refusal('not-estimable', 'no lab has two sessions: ask with labs randomIntercept');
  }
  const mixed = mixedModel(present, nested);
  if (mixed === null)
    throw new Refusal('not-estimable', 'the fit leaves no residual from which variances could be told');
  return {
    map,
    fit,
    mixed,
    slopes: mixed.slopes,
    means: mixed.means,
    atMeans: (mixed.means[map.terms] as number) + mixed.shiftAtMeans,
    level: true,
    statistical: (contrasts) =>
      contrasts.map((contrast) => {
        const { variance, degreesOfFreedom } = mixedContrast(mixed, contrast);
        const standardError = Math.sqrt(Math.max(0, variance));
        return { standardError, degreesOfFreedom, classicalError: standardError };
      }),
    joint: () => null,
    held: nothingHeld,
    alone: false,
    unknownParts: sessions?.unknown ?? 0,
  };
}

/** Rows of the raw map that the answer gives: the intercept, when the model has one for all, and the terms. */
export function rowsOf({ map, level }: { map: RawMap; level: boolean }, { terms }: RegressionSpecification): number[] {
  return level ? [map.terms, ...terms.keys()] : [...terms.keys()];
}

/** The raw coefficient of a row of the map; the last row is the intercept, with the constants put back. */
export function coefficientOf(
  { map, slopes, means, atMeans }: Pick<RegressionModel, 'map' | 'slopes' | 'means' | 'atMeans'>,
  design: RegressionDesign,
  row: number,
): number {
  if (row < map.terms) return rawCoefficient(map, row, slopes);
  // Intercept = offset + response at the means - sum b_j (mean of column j) + sum b_j (constant of column j).
  let level = atMeans;
  for (let j = 0; j < map.terms; j += 1) level -= (slopes[j] as number) * (means[j] as number);
  return rawCoefficient(map, row, slopes, { high: design.responseOffset, low: level });
}

/** The contrast whose value is the raw coefficient of a row. */
export function contrastOf({ map, means }: { map: RawMap; means: Float64Array }, row: number): Contrast {
  const slopes = rawContrast(map, row);
  if (row < map.terms) return { atMeans: 0, slopes };
  return { atMeans: 1, slopes: slopes.map((value, j) => value - (means[j] as number)) };
}

function fitted(outcome: LeastSquaresOutcome, specification: RegressionSpecification, shots: number): LeastSquares {
  if (outcome.ok) return outcome.fit;
  const name = (predictor: number) =>
    termName(specification.terms[predictor] as RegressionSpecification['terms'][number]);
  const inLabs = modelOf(specification) === 'within' ? ' within every lab' : '';
  switch (outcome.reason) {
    case 'tooFewRows':
      throw new Refusal(
        'not-estimable',
        `${shots === 1 ? '1 shot takes' : `${shots} shots take`} part; this question needs at least ${outcome.needed}: ask with fewer terms or a wider filter`,
      );
    case 'constantResponse':
      throw new Refusal('not-estimable', `${specification.response} is constant${inLabs}: there is nothing to explain`);
    case 'constantPredictor':
      throw new Refusal(
        'not-estimable',
        `${name(outcome.predictor)} is constant${inLabs} among the ${shots} shots: its slope cannot be estimated`,
      );
    case 'collinear':
      throw new Refusal(
        'not-estimable',
        `${name(outcome.predictor)} is a linear combination of ${list(outcome.others.map(name))}${inLabs} (1 - R2 below 1e-8): leave one of them out`,
      );
  }
}
