/** What each lab says alone, how much of the answer rests on it, and the answer without it. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { informationShares } from '../statistics/cluster-robust.ts';
import { leastSquaresMovement } from '../statistics/common-errors.ts';
import { type Contrast, classicalVariance, leastSquares } from '../statistics/least-squares.ts';
import { leaveOneGroupOut } from '../statistics/leave-one-out.ts';
import type { Moments } from '../statistics/moments.ts';
import { rawCoefficient, rawContrast } from '../statistics/raw-coefficients.ts';
import { termName } from './canonical-specification.ts';
import { coefficientSentence, coefficientUnit } from './coefficient-words.ts';
import { type CommonUnit, type CommonVariance, commonVariances } from './common-errors.ts';
import { list, rounded } from './figures-in-words.ts';
import { type Inference, infer, smallestDetectable } from './infer.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';
import { nothingHeld, totalSpread } from './total-spread.ts';

export interface OwnSlope extends Inference {
  readonly term: string;
  readonly unit: string;
  readonly sentence: string;
}

export interface LabSlopes {
  readonly lab: string;
  readonly shots: number;
  /** Null when the lab alone cannot give the slopes. */
  readonly own: readonly OwnSlope[] | null;
  /** Residual variance and degrees of freedom of the lab's own fit. */
  readonly residual: { readonly variance: number; readonly degreesOfFreedom: number } | null;
  readonly shareOfInformation: number;
  readonly without: RegressionResult['labs'][number]['without'];
}

/** Labs with shots, in the order of their codes. @param units what shots err by in common */
export function labSlopes(
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
  names: readonly string[],
  units: readonly CommonUnit[],
): LabSlopes[] {
  const { fit, map } = model;
  const shares = informationShares(fit, design.labs);
  const errors = model.spread(specification.terms.map((_, row) => ({ atMeans: 0, slopes: rawContrast(map, row) })));
  const without = new Map(
    leaveOneGroupOut(fit, design.labs).map(({ group, fit: rest, distance }) => [
      group,
      rest === null
        ? null
        : withoutLab(
            names[group] as string,
            specification.terms.map((term, row) => {
              const estimate = rawCoefficient(map, row, rest.slopes);
              const error = errors[row]?.standardError ?? 0;
              const change = estimate - rawCoefficient(map, row, fit.slopes);
              const unit = coefficientUnit(specification.response, term);
              return { term: termName(term), unit, estimate, change: error > 0 ? change / error : null };
            }),
            distance,
          ),
    ]),
  );
  return design.labs.flatMap((moments, lab): LabSlopes[] =>
    moments.count === 0
      ? []
      : [
          {
            lab: names[lab] as string,
            shots: moments.count,
            ...ownFit(
              moments,
              model,
              specification,
              units.filter((unit) => unit.lab === lab),
            ),
            shareOfInformation: shares[lab] as number,
            without: without.get(lab) ?? null,
          },
        ],
  );
}

type WithoutLab = NonNullable<LabSlopes['without']>;

function withoutLab(lab: string, coefficients: WithoutLab['coefficients'], distance: number | null): WithoutLab {
  const moved = coefficients.flatMap(({ term, change }) =>
    change === null ? [] : [`${term} by ${rounded(Math.abs(change), 2)}`],
  );
  const sentence =
    moved.length === 0
      ? `Without ${lab} the slopes are those given here.`
      : `Without ${lab} the slope moves: ${list(moved)} standard errors of the full answer.`;
  return { coefficients, sentence, distance };
}

/**
 * Slopes of one lab alone, with classical errors and what its shots err by in common; null with too few shots or terms
 * that cannot be told apart there.
 */
function ownFit(
  moments: Moments,
  { map, fit }: RegressionModel,
  { terms, confidence, response }: RegressionSpecification,
  units: readonly CommonUnit[],
): Pick<LabSlopes, 'own' | 'residual'> {
  const none = { own: null, residual: null };
  if (terms.length === 0 || moments.count <= terms.length + 1) return none;
  const outcome = leastSquares([moments], fit.model === 'throughOrigin' ? 'throughOrigin' : 'within');
  if (!outcome.ok) return none;
  const alone = outcome.fit;
  const contrasts = terms.map((_, row) => ({ atMeans: 0, slopes: rawContrast(map, row) }));
  const common = commonVariances(
    units,
    (unit, perturbation) => leastSquaresMovement(alone, moments, unit.moments, perturbation),
    contrasts,
  );
  return {
    residual: { variance: alone.residualVariance, degreesOfFreedom: alone.degreesOfFreedom },
    own: terms.map((term, row) => {
      const standardError = Math.sqrt(classicalVariance(alone, contrasts[row] as Contrast));
      const spread = totalSpread(
        { standardError, degreesOfFreedom: alone.degreesOfFreedom, classicalError: standardError },
        common[row] as CommonVariance,
        nothingHeld,
      );
      const figures = infer(rawCoefficient(map, row, alone.slopes), spread, confidence);
      const detectable = smallestDetectable(figures, confidence);
      return {
        term: termName(term),
        unit: coefficientUnit(response, term),
        ...figures,
        sentence: coefficientSentence(
          { ...figures, smallestDetectable: detectable },
          { response, terms, term, confidence, shots: moments.count },
        ),
      };
    }),
  };
}
