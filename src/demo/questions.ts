/** What the report asks the service, as specifications of the public interface. */
import type { z } from 'zod';
import type { comparisonSpecificationSchema, marginInputSchema } from '../../shared/comparison.ts';
import type { regressionSpecificationSchema } from '../../shared/regression.ts';

type RegressionQuestion = z.input<typeof regressionSpecificationSchema>;
type ComparisonQuestion = z.input<typeof comparisonSpecificationSchema>;

/** Declared before the first upload. */
export const margin: z.input<typeof marginInputSchema> = {
  variable: 'outcomeDistance',
  value: 0.0286,
  reason: 'Half a ball (28.6 mm): a player who plans where the cue ball stops allows about that much on either side.',
};

export const contactAgainstSpeed: RegressionQuestion = {
  response: 'contactTime',
  terms: [[{ variable: 'cueSpeed' }]],
};

export const contactAgainstAcceleration: RegressionQuestion = {
  response: 'contactTime',
  terms: [[{ variable: 'cueAcceleration' }], [{ variable: 'cueSpeed' }]],
};

/** Hits below the centre only, where a lower hit is more draw. */
export const contactAgainstDraw: RegressionQuestion = {
  response: 'contactTime',
  terms: [[{ variable: 'tipOffset' }], [{ variable: 'cueSpeed' }]],
  filter: { ranges: [{ variable: 'tipOffset', max: -0.1 }] },
};

/** Draw shots with enough speed that the ball comes back. */
const drawShots = { variable: 'tipOffset', max: -0.1 } as const;

/** Accelerating (first) against slowing (second) strokes. */
export function accelerationContrast(marginId: string): ComparisonQuestion {
  return {
    contrast: { kind: 'sign', variable: 'cueAcceleration' },
    response: 'outcomeDistance',
    filter: { ranges: [drawShots, { variable: 'cueSpeed', min: 2 }] },
    margin: marginId,
  };
}

/** Faster (first) against slower (second) strokes at the same tip offset. */
export function speedContrast(marginId: string): ComparisonQuestion {
  return {
    contrast: { kind: 'ranges', variable: 'cueSpeed', first: [2.85, 3.4], second: [2.15, 2.65] },
    response: 'outcomeDistance',
    match: [
      { variable: 'tipOffset', caliper: 0.03 },
      { variable: 'objectBallDistance', caliper: 0.03 },
    ],
    filter: { ranges: [drawShots] },
    margin: marginId,
  };
}
