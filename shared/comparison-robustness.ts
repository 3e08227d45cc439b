/** Matched comparison: what else could explain the answer, and how far it leans on choices. */
import { z } from 'zod';
import { intervalSchema, variableSchema } from './analysis.ts';
import { verdictSchema } from './comparison-estimates.ts';

/** One variant of the analysis. */
const variant = {
  pairs: z.int(),
  estimate: z.number().nullable().meta({ description: 'Quoted difference, SI; null with too few pairs.' }),
  interval: intervalSchema.nullable(),
  verdict: verdictSchema.nullable(),
};

export const builtInBiasSchema = z
  .strictObject({
    matched: variableSchema,
    correlation: z
      .number()
      .meta({ description: 'Mean correlation of the two measurement errors of a shot, a pure number.' }),
    hiddenDifference: z.number().meta({
      description: 'True value of the matched variable, first minus second, although the measured ones agree. SI.',
    }),
    hiddenUnit: z.string(),
    bias: z.number().nullable().meta({
      description: 'What that is worth in the response, SI: part of the difference found. Null without a slope.',
    }),
    unit: z.string(),
    sentence: z.string(),
  })
  .meta({ id: 'BuiltInBias' });

export const unresolvedSchema = z
  .strictObject({
    variable: variableSchema,
    shots: z.int().meta({ description: 'Paired shots whose side is not settled.' }),
    share: z.number(),
    expectedWrong: z.number().meta({ description: 'Expected number of paired shots on the wrong side.' }),
    without: z.strictObject(variant),
    unit: z.string(),
    sentence: z.string(),
  })
  .meta({ id: 'UnresolvedShots' });

export const caliperRowSchema = z
  .strictObject({
    factor: z.number().meta({ description: 'Factor on the calipers of the question.' }),
    ...variant,
  })
  .meta({ id: 'CaliperSensitivity' });

export const lastPairsRowSchema = z
  .strictObject({
    worth: z.number().meta({ description: 'Distance above which a pair costs more than it is worth, a pure number.' }),
    totalDistance: z.number(),
    distancePerPair: z.number().nullable().meta({
      description: 'Total distance saved for each pair given up, a pure number; null when none was.',
    }),
    ...variant,
  })
  .meta({ id: 'LastPairs' });

export const hiddenBiasSchema = z
  .strictObject({
    of: z.enum(['raw', 'adjusted']),
    difference: z.number().nullable().meta({
      description:
        'Largest odds (a pure number) of a hidden bias at which the difference would still be found one-sided at 1 - confidence; null when it is not found at all.',
    }),
    equivalence: z.number().nullable().meta({
      description:
        'Largest odds (a pure number) at which both one-sided signed-rank tests still place the difference inside the margin; null when they do not, or without a margin.',
    }),
    rows: z.array(
      z.strictObject({
        gamma: z.number(),
        pValue: z.number().meta({ description: 'Largest one-sided p.' }),
        estimates: intervalSchema.meta({ description: 'Hodges-Lehmann estimates that such a bias could produce, SI.' }),
        interval: intervalSchema,
      }),
    ),
    unit: z.string(),
    sentence: z.string(),
  })
  .meta({ id: 'HiddenBias' });

export const sensitivitySchema = z
  .strictObject({
    calipers: z.array(caliperRowSchema),
    caliperSentence: z.string(),
    lastPairs: z.array(lastPairsRowSchema),
    lastPairsSentence: z.string(),
    hiddenBias: hiddenBiasSchema,
  })
  .meta({ id: 'Sensitivity' });
