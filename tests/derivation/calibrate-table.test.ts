import { describe, expect, it } from 'vitest';
import { calibrationSeriesSchema } from '../../shared/calibration-series.ts';
import { tableContentSchema } from '../../shared/gear.ts';
import { calibrateTable } from '../../src/derivation/calibrate-table.ts';
import { rollingOf, slidingOf } from '../../src/physics/calibration-series.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform } from '../kinematics/simulated-strokes.ts';

const gravity = 9.80665;
const table = tableContentSchema.parse({ discipline: 'pool', length: { value: 2.54, unit: 'm' } });
const balls = {
  ballRestitution: { value: 0.95, standardUncertainty: 0.02, assumed: false },
  ballFriction: { value: 0.06, standardUncertainty: 0.02, assumed: true },
};
const metres = (value: number) => ({ value, unit: 'm' });
const speed = (value: number) => ({ value, unit: 'm/s' });
const rollOut = (v: number, resistance = 0.011) => ({
  speed: speed(v),
  distance: metres((v * v) / (2 * resistance * gravity)),
});
/** A stop shot whose distance is in diamonds, an eighth of the table. */
const stopShot = (v: number, depth: number) => ({
  ballSpeed: speed(v),
  tipOffset: { value: -depth, unit: '1' },
  distance: { value: 3, unit: 'diamond' },
});
const calibrate = (series: object) => calibrateTable(calibrationSeriesSchema.parse(series), table, balls, '/series');

describe('a calibration by series', () => {
  it('has budgets whose contributions add up to the stated uncertainty', () => {
    const { rollingResistance, slidingFriction, faults } = calibrate({
      rollOuts: [rollOut(0.6), rollOut(0.7), rollOut(0.8, 0.0113)],
      stopShots: [stopShot(2.5, 0.28), stopShot(2.8, 0.21)],
    });
    expect(faults).toEqual([]);
    for (const friction of [rollingResistance, slidingFriction]) {
      if (friction === null) throw new Error('no friction');
      let variance = 0;
      for (const { contribution, sensitivity, standardUncertainty } of friction.budget) {
        expectRelative(contribution, Math.abs(sensitivity) * standardUncertainty, 1e-12);
        variance += contribution * contribution;
      }
      expectRelative(Math.sqrt(variance), friction.standardUncertainty, 1e-12);
    }
    expect(rollingResistance?.trials).toHaveLength(3);
    expect(slidingFriction?.budget.map(({ input }) => input)).toEqual([
      '2 stop shots',
      'scale and rate of the speeds',
      'tip offsets in common',
      'restitution of the balls',
      'friction between the balls (assumed)',
    ]);
  });

  it('says what is common to the series: it does not average away over more shots', () => {
    const commonOf = (count: number) => {
      const { slidingFriction } = calibrate({
        stopShots: Array.from({ length: count }, () => stopShot(2.5, 0.28)),
      });
      return slidingFriction?.budget.map(({ contribution }) => contribution) ?? [];
    };
    const [one, many] = [commonOf(1), commonOf(100)] as const;
    expectRelative(many[0] ?? 0, (one[0] ?? 0) / 10, 1e-9);
    for (const line of [1, 2, 3, 4]) expectRelative(many[line] ?? 0, one[line] ?? 1, 1e-9);
  });

  it('agrees with drawing every input from its uncertainty (Monte Carlo)', () => {
    const shots = [stopShot(2.5, 0.28), stopShot(2.8, 0.21)];
    const { slidingFriction } = calibrate({ stopShots: shots });
    const normal = normalDeviates(seededUniform(7));
    const draws: number[] = [];
    for (let draw = 0; draw < 20_000; draw += 1) {
      const [scale, shift] = [1 + 0.005 * normal(), 0.01 * normal()];
      const pair = {
        ballRestitution: Math.min(1, 0.95 + 0.02 * normal()),
        ballFriction: Math.max(0, 0.06 + 0.02 * normal()),
      };
      // Both shots weigh by their own uncertainties, as they do at the values themselves.
      let [sum, weights] = [0, 0];
      for (const [index, shot] of shots.entries()) {
        const u = slidingFriction?.trials[index]?.standardUncertainty ?? 1;
        const exact = (value: number) => ({ value, standardUncertainty: 0 });
        const found = slidingOf(
          {
            ballSpeed: exact(scale * shot.ballSpeed.value * (1 + 0.01 * normal())),
            tipOffset: exact(shot.tipOffset.value + shift + 0.02 * normal()),
            distance: exact(3 * (2.54 / 8) + 0.005 * normal()),
          },
          pair,
        );
        sum += (found?.value ?? 0) / (u * u);
        weights += 1 / (u * u);
      }
      draws.push(sum / weights);
    }
    const mean = draws.reduce((sum, value) => sum + value, 0) / draws.length;
    const spread = Math.sqrt(draws.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (draws.length - 1));
    // Birge's ratio may widen the mean of two shots; here they agree. First order against the whole spread: within 5 %.
    expectRelative(slidingFriction?.standardUncertainty ?? 0, spread, 0.05);
    expectRelative(slidingFriction?.value ?? 0, mean, 0.02);
  });

  it('names each shot that gives no value, and each unit that does not fit', () => {
    const codes = (series: object) => calibrate(series).faults.map(({ code, pointer }) => `${code} ${pointer}`);
    expect(codes({ stopShots: [{ ...stopShot(2.5, 0.28), tipOffset: { value: 0.2, unit: '1' } }] })).toEqual([
      'limit-exceeded /series/stopShots/0',
    ]);
    expect(codes({ rollOuts: [rollOut(0.6), { speed: speed(0.6), distance: { value: 2, unit: 'kg' } }] })).toEqual([
      'unit-dimension /series/rollOuts/1/distance/unit',
    ]);
    expect(codes({ rollOuts: [{ ...rollOut(0.6), speedUncertainty: speed(-1) }] })).toEqual([
      'limit-exceeded /series/rollOuts/0/speedUncertainty/value',
    ]);
    expect(
      rollingOf({ speed: { value: 0, standardUncertainty: 0 }, distance: { value: 1, standardUncertainty: 0 } }),
    ).toBeNull();
  });
});
