/**
 * The polynomial orders 1 to 5 of one window side by side, for diagnosis: what each order gives, how well it predicts,
 * and whether it explains more than the order below.
 *
 *   F = (RSS_(q-1) - RSS_q) / (RSS_q / (n - q - 1))      with 1 and n - q - 1 degrees of freedom
 *   PRESS = sum (e_i / (1 - h_ii))^2                      leave-one-out prediction errors without refitting
 *
 * Sources: nested F as in any text on regression; PRESS: Allen, Technometrics 16, 125 (1974) [from memory].
 */
import { aicc } from './akaike.ts';
import type { PolynomialFit } from './fit-polynomial.ts';
import { basisDerivatives } from './orthogonal-basis.ts';

export const highestDiagnosedOrder = 5;

export interface OrderDiagnosis {
  readonly order: number;
  readonly degreesOfFreedom: number;
  readonly residualStandardDeviation: number;
  readonly speed: number;
  readonly acceleration: number;
  /** White-noise standard uncertainties; not inflated. */
  readonly speedUncertainty: number;
  readonly accelerationUncertainty: number;
  /** Null with too few points for the criterion. */
  readonly aicc: number | null;
  /** Against the order below. */
  readonly fStatistic: number;
  /** m2; null when a point is fitted exactly because nothing else bears on it. */
  readonly press: number | null;
}

/**
 * @param fit of degree 5, or of the highest order for which the window has points to spare
 * @param time abscissa of first contact, s
 * @param roundingSum sum of squares that rounding alone can leave; smaller residual sums count as it
 * @param compare whether orders are to be told apart: without, AICc and PRESS are null and cost nothing
 */
export function diagnoseOrders(
  fit: PolynomialFit,
  time: number,
  roundingSum: number,
  compare = true,
): OrderDiagnosis[] {
  const table = basisDerivatives(fit.basis, (time - fit.centre) / fit.halfWidth, 2);
  const width = fit.degree + 1;
  const first = 1 / fit.halfWidth;
  const second = first * first;
  const press = compare ? pressOfOrders(fit) : null;
  const rows: OrderDiagnosis[] = [];
  let speed = 0;
  let acceleration = 0;
  let speedFactor = 0;
  let accelerationFactor = 0;
  let sumBelow = Math.max(fit.residualSumsOfSquares[0] as number, roundingSum);
  for (let order = 1; order <= fit.degree; order += 1) {
    const coefficient = fit.coefficients[order] as number;
    const norm = fit.basis.squaredNorm[order] as number;
    const slope = (table[width + order] as number) * first;
    const curvature = (table[2 * width + order] as number) * second;
    speed += coefficient * slope;
    acceleration += coefficient * curvature;
    speedFactor += (slope * slope) / norm;
    accelerationFactor += (curvature * curvature) / norm;
    const degreesOfFreedom = fit.points - order - 1;
    const sum = Math.max(fit.residualSumsOfSquares[order] as number, roundingSum);
    const variance = sum / degreesOfFreedom;
    const predicted = press?.[order] ?? Number.POSITIVE_INFINITY;
    rows.push({
      order,
      degreesOfFreedom,
      residualStandardDeviation: Math.sqrt(variance),
      speed,
      acceleration,
      speedUncertainty: Math.sqrt(variance * speedFactor),
      accelerationUncertainty: Math.sqrt(variance * accelerationFactor),
      aicc: compare && fit.points > order + 3 ? aicc(fit.points, order, sum) : null,
      fStatistic: Math.max(0, sumBelow - sum) / variance,
      press: Number.isFinite(predicted) ? predicted : null,
    });
    sumBelow = sum;
  }
  return rows;
}

/** PRESS of every order in one pass over the points: residual and leverage of an order follow from those above and below. */
function pressOfOrders(fit: PolynomialFit): Float64Array {
  const { degree, points, coefficients, residuals } = fit;
  const { values, squaredNorm } = fit.basis;
  const sums = new Float64Array(degree + 1);
  const leverages = new Float64Array(degree + 1);
  for (let i = 0; i < points; i += 1) {
    let leverage = 0;
    for (let k = 0; k <= degree; k += 1) {
      const value = values[k * points + i] as number;
      leverage += (value * value) / (squaredNorm[k] as number);
      leverages[k] = leverage;
    }
    let residual = residuals[i] as number;
    for (let k = degree; k >= 1; k -= 1) {
      const left = 1 - (leverages[k] as number);
      // A point that alone carries a coefficient cannot be predicted from the others.
      const error = left > 1e-12 ? residual / left : Number.POSITIVE_INFINITY;
      sums[k] = (sums[k] as number) + error * error;
      residual += (coefficients[k] as number) * (values[k * points + i] as number);
    }
  }
  return sums;
}
