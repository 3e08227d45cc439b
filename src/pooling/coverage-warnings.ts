/** Remarks on where the curve goes beyond the data. */
import type { Warning } from '../../shared/analysis.ts';
import { chiSquareQuantile } from '../statistics/distributions.ts';
import type { LeastSquares } from '../statistics/least-squares.ts';
import type { Moments } from '../statistics/moments.ts';
import { bilinear, symmetricInverse } from '../statistics/symmetric-inverse.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import { basisRows, heldAt } from './regression-curve.ts';
import type { RegressionFindings } from './regression-warnings.ts';

/** Share of the curve that one lab alone may cover without a remark. */
const thinShare = 0.1;
/** Share of a lab's shots inside the ellipse beyond which a point counts as outside that lab's data. */
const insideShare = 0.999;

/** Held values or declared ranges beyond the data, combinations that no lab played, and stretches of fewer than two labs. */
export function coverageWarnings(findings: RegressionFindings): Warning[] {
  return [...outsideData(findings), ...outsideDeclared(findings), ...noSuchShots(findings), ...thinCoverage(findings)];
}

function outsideData({ curve, design }: RegressionFindings): Warning[] {
  if (curve === null) return [];
  const held = curve.held.flatMap(({ variable, value, unit }) => {
    const range = design.ranges.find((each) => each.variable === variable);
    if (range === undefined || (value >= range.min && value <= range.max)) return [];
    return [
      `${variable} held at ${rounded(value, 3)}${unit === '1' ? '' : ` ${unit}`}, data ${rounded(range.min, 3)} to ${rounded(range.max, 3)}`,
    ];
  });
  const own = design.ranges.find(({ variable }) => variable === curve.variable);
  const beyond =
    own === undefined ? [] : curve.points.filter(({ at }) => at < own.min || at > own.max).map(({ at }) => at);
  const along =
    own === undefined || beyond.length === 0
      ? []
      : [
          `${beyond.length} of ${curve.points.length} points of the curve over ${curve.variable}, data ${rounded(own.min, 3)} to ${rounded(own.max, 3)} ${curve.unit}`,
        ];
  const places = [...held, ...along];
  if (places.length === 0) return [];
  return [{ code: 'EXTRAPOLATION', text: `The curve goes outside the data (${list(places)}): it is a guess there.` }];
}

function outsideDeclared({ columns, design, selection: { indices } }: RegressionFindings): Warning[] {
  const outside = design.ranges.flatMap(({ variable, min, max, basis }) => {
    if (basis === null || !basis.declared || (min >= basis.min && max <= basis.max)) return [];
    const values = columns.variables[variable];
    let shots = 0;
    for (let at = 0; at < indices.length; at += 1) {
      const value = values[indices[at] as number] as number;
      if (value < basis.min || value > basis.max) shots += 1;
    }
    return [`${shots} shots for ${variable} (declared ${rounded(basis.min, 3)} to ${rounded(basis.max, 3)})`];
  });
  if (outside.length === 0) return [];
  return [
    {
      code: 'OUTSIDE_DECLARED',
      text: `Shots lie outside the declared range: ${list(outside)}. They take part; filter them out if the range was meant as a limit.`,
    },
  ];
}

/**
 * D2 = (x0 - m)'S^-1(x0 - m)(n - 1) of the basis columns in each lab, against the chi-square quantile of 99.9 %: beyond it
 * in every lab, hardly a shot of any lab looks like the point, although each variable alone may.
 */
function noSuchShots({ curve, design, model: { fit } }: RegressionFindings): Warning[] {
  if (curve === null || fit.predictors < 2) return [];
  const limit = chiSquareQuantile(insideShare, fit.predictors);
  const distances = design.labs.flatMap((lab) => distanceIn(lab, fit) ?? []);
  if (distances.length === 0) return [];
  const rows = basisRows(
    design,
    curve.points.map(({ at }) => at),
    heldAt(curve),
  );
  const far = curve.points.filter((_, place) =>
    distances.every((distance) => distance(rows[place] as Float64Array) > limit),
  );
  if (far.length === 0) return [];
  const [first, last] = [far[0] as (typeof far)[number], far.at(-1) as (typeof far)[number]];
  return [
    {
      code: 'NO_SUCH_SHOTS',
      text: `No lab has shots like ${far.length} of ${curve.points.length} points of the curve, ${curve.variable} from ${rounded(first.at, 3)} to ${rounded(last.at, 3)} ${curve.unit} with the other variables held as stated (outside ${percent(insideShare)} of the shots of every lab): it is a guess there.`,
    },
  ];
}

function distanceIn({ count, means, products }: Moments, { predictors: p }: LeastSquares) {
  if (count <= p + 1) return null;
  const spread = Float64Array.from(
    { length: p * p },
    (_, at) => (products[Math.floor(at / p) * (p + 1) + (at % p)] as number) / (count - 1),
  );
  const inverse = symmetricInverse(spread, p)?.inverse;
  if (inverse === undefined) return null;
  return (row: Float64Array) => {
    const away = row.map((value, j) => value - (means[j] as number));
    return bilinear(away, inverse, away);
  };
}

function thinCoverage({ curve, labs }: RegressionFindings): Warning[] {
  if (curve === null || labs.length < 2) return [];
  const covering = (at: number) =>
    curve.labLines.filter(({ points }) => at >= (points[0]?.at ?? 0) && at <= (points.at(-1)?.at ?? 0)).length;
  const thin = curve.points.filter(({ at }) => covering(at) < 2).map(({ at }) => at);
  // The outermost shots are always of one lab; only a stretch of the curve is worth a remark.
  if (thin.length <= thinShare * curve.points.length) return [];
  return [
    {
      code: 'THIN_COVERAGE',
      text: `Fewer than 2 labs cover ${thin.length} of ${curve.points.length} points (more than a tenth) of the curve over ${curve.variable}, the first at ${rounded(Math.min(...thin), 3)} and the last at ${rounded(Math.max(...thin), 3)} ${curve.unit}.`,
    },
  ];
}
