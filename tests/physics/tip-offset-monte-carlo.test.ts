/** First-order propagation of the tip offset against Monte Carlo through the geometry itself (GUM Supplement 1, from memory). */
import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type TipReading, tipContact } from '../../src/physics/tip-geometry.ts';
import { exampleGear, exampleShot } from '../derivation/example-shot.ts';
import { normalDeviates, seededUniform } from '../kinematics/simulated-strokes.ts';

const mm = (value: number) => ({ value, unit: 'mm' });
const draws = 20_000;
/** Sampling error of a standard deviation from 20,000 draws is 0.5 %; curvature adds less than that at these sizes. */
const tolerance = 0.025;

type Reading = NonNullable<ShotInput['tipHeight']>;

const cases: { name: string; sent: Reading; elevation: number; draw: (error: () => number) => TipReading }[] = [
  {
    name: 'top edge of an elevated shaft',
    sent: { method: 'shaftTopEdge', topEdge: mm(-5), station: mm(45), standardUncertainty: mm(0.3) },
    elevation: 3,
    draw: (error) => ({ method: 'shaftTopEdge', topEdge: -0.005 + 3e-4 * error(), station: 0.045 + 3e-4 * error() }),
  },
  {
    name: 'both edges of a level shaft',
    sent: {
      method: 'shaftEdges',
      topEdge: mm(-4),
      bottomEdge: mm(-17),
      station: mm(60),
      standardUncertainty: mm(0.3),
    },
    elevation: 0,
    draw: (error) => ({
      method: 'shaftEdges',
      topEdge: -0.004 + 3e-4 * error(),
      bottomEdge: -0.017 + 3e-4 * error(),
      station: 0.06 + 3e-4 * error(),
    }),
  },
  {
    name: 'contact mark under an elevated cue',
    sent: { method: 'contactMark', height: mm(-8), standardUncertainty: mm(0.3) },
    elevation: 5,
    draw: (error) => ({ method: 'contactMark', height: -0.008 + 3e-4 * error() }),
  },
  {
    name: 'ring at the bottom edge of the shaft',
    sent: {
      method: 'ring',
      ring: 3,
      ringStep: mm(4),
      side: 'below',
      edge: 'bottom',
      station: mm(50),
      standardUncertainty: mm(0.3),
    },
    elevation: 2,
    draw: (error) => ({
      method: 'shaftBottomEdge',
      bottomEdge: -0.012 + 3e-4 * error(),
      station: 0.05 + 3e-4 * error(),
    }),
  },
];

describe('the uncertainty of a tip offset', () => {
  it.each(cases)('is the spread of the geometry when its inputs are drawn from theirs: $name', (each) => {
    const shot = exampleShot({ tipHeight: each.sent, elevation: { value: each.elevation, unit: 'deg' } });
    const { derived } = deriveShot(shot, exampleGear({ scaleRelativeUncertainty: 0 }));
    const error = normalDeviates(seededUniform(4_021));
    const offsets = new Float64Array(draws);
    const heights = new Float64Array(draws);
    for (let n = 0; n < draws; n += 1) {
      // Ball 57.15 mm, dome 10.6 mm, shaft 6.5 mm, each with what the service takes a given size to be known to.
      const contact = tipContact(each.draw(error), {
        ballRadius: 0.028575 + 3.7e-5 * error(),
        tipRadius: 0.0106 + 5e-4 * error(),
        shaftRadius: 0.0065 + 5e-5 * error(),
        elevation: ((each.elevation + 0.3 * error()) * Math.PI) / 180,
      });
      if (!contact.ok) throw new Error('outside the ball');
      offsets[n] = contact.tipOffset;
      heights[n] = contact.tipHeight;
    }
    for (const [values, estimate] of [
      [offsets, derived.tipOffset],
      [heights, derived.tipHeight],
    ] as const) {
      const mean = values.reduce((sum, value) => sum + value, 0) / draws;
      const spread = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (draws - 1));
      const stated = estimate?.standardUncertainty ?? Number.NaN;
      expect(Math.abs(spread / stated - 1)).toBeLessThan(tolerance);
      expect(Math.abs(mean - (estimate?.value ?? Number.NaN))).toBeLessThan(0.05 * stated);
    }
  });
});
