/**
 * Galileo Galilei, folio 116v and 107v of the manuscripts on motion: distances of a ball on an inclined plane at the ends of
 * eight equal times, in points of 0.94 mm, as transcribed by S. Drake, Scientific American 228 (5), 84 (1973) [from memory].
 * Constant acceleration: distances as the squares of the times.
 */
import { expect, it } from 'vitest';
import { derivativesAt, fitPolynomial } from '../../src/kinematics/fit-polynomial.ts';
import { diagnoseOrders } from '../../src/kinematics/order-diagnosis.ts';

const distances = [33, 130, 298, 526, 824, 1192, 1620, 2104];

it('finds constant acceleration in the distances of Galileo, and no third order', () => {
  const times = Float64Array.from(distances, (_, i) => i + 1);
  const fit = fitPolynomial(times, Float64Array.from(distances), 3);
  const quadratic = derivativesAt(fitPolynomial(times, Float64Array.from(distances), 2), 0, 2);
  const acceleration = quadratic.values[2] as number;
  // 33 points in the first time: s = a t^2 / 2 with a = 66.
  expect(Math.abs(acceleration - 66)).toBeLessThan(1);
  const start = quadratic.values[1] as number;
  expect(Math.abs(start)).toBeLessThan(2 * Math.sqrt(quadratic.covariance[4] as number) + 5);
  const orders = diagnoseOrders(fit, 0, 0);
  // The second order explains nearly everything that the first leaves; F(1, 4) exceeds 7.71 by chance in 5 of 100.
  expect(orders[1]?.fStatistic).toBeGreaterThan(1000);
  expect(Math.abs((orders[1]?.acceleration ?? 0) - acceleration)).toBeLessThan(1e-8);
});
