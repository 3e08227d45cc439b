/** What each lab says alone, how much of the answer rests on it, and the answer without it. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { informationShares } from '../statistics/cluster-robust.ts';
import { classicalVariance, leastSquares } from '../statistics/least-squares.ts';
import { leaveOneGroupOut } from '../statistics/leave-one-out.ts';
import type { Moments } from '../statistics/moments.ts';
import { rawCoefficient, rawContrast } from '../statistics/raw-coefficients.ts';
import { termName } from './canonical-specification.ts';
import { type Inference, infer } from './infer.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { RegressionModel } from './regression-model.ts';

export interface OwnSlope extends Inference {
  readonly term: string;
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

/** Labs with shots, in the order of their codes. */
export function labSlopes(
  design: RegressionDesign,
  model: RegressionModel,
  specification: RegressionSpecification,
  names: readonly string[],
): LabSlopes[] {
  const { fit, map } = model;
  const shares = informationShares(fit, design.labs);
  const errors = model.spread(specification.terms.map((_, row) => ({ atMeans: 0, slopes: rawContrast(map, row) })));
  const without = new Map(
    leaveOneGroupOut(fit, design.labs).map(({ group, fit: rest, distance }) => [
      group,
      rest === null
        ? null
        : {
            distance,
            coefficients: specification.terms.map((term, row) => {
              const estimate = rawCoefficient(map, row, rest.slopes);
              const error = errors[row]?.standardError ?? 0;
              const change = estimate - rawCoefficient(map, row, fit.slopes);
              return { term: termName(term), estimate, change: error > 0 ? change / error : null };
            }),
          },
    ]),
  );
  return design.labs.flatMap((moments, lab): LabSlopes[] =>
    moments.count === 0
      ? []
      : [
          {
            lab: names[lab] as string,
            shots: moments.count,
            ...ownFit(moments, model, specification),
            shareOfInformation: shares[lab] as number,
            without: without.get(lab) ?? null,
          },
        ],
  );
}

/** Slopes of one lab alone, with classical errors; null with too few shots or terms that cannot be told apart there. */
function ownFit(
  moments: Moments,
  { map, fit }: RegressionModel,
  { terms, confidence }: RegressionSpecification,
): Pick<LabSlopes, 'own' | 'residual'> {
  const none = { own: null, residual: null };
  if (terms.length === 0 || moments.count <= terms.length + 1) return none;
  const outcome = leastSquares([moments], fit.model === 'throughOrigin' ? 'throughOrigin' : 'within');
  if (!outcome.ok) return none;
  const alone = outcome.fit;
  return {
    residual: { variance: alone.residualVariance, degreesOfFreedom: alone.degreesOfFreedom },
    own: terms.map((term, row) => ({
      term: termName(term),
      ...infer(
        rawCoefficient(map, row, alone.slopes),
        {
          standardError: Math.sqrt(classicalVariance(alone, { atMeans: 0, slopes: rawContrast(map, row) })),
          degreesOfFreedom: alone.degreesOfFreedom,
        },
        confidence,
      ),
    })),
  };
}
