/** Matched comparison: which shots were paired with which, how well, and which were not. */
import { z } from 'zod';
import { variableSchema } from './analysis.ts';

const price = z.number().meta({
  description:
    'Dual price of the shot in whole-number costs: first u, second v. Over all pairs within the calipers u + v is at most the cost, and equal to it on the pairs: that proves the pairing optimal.',
});

const shotPlace = {
  lab: z.string(),
  label: z.string().meta({
    description: 'With the lab, GET /v1/shots?lab=...&label=... leads to the shot, its track and its frames.',
  }),
  group: z.string().meta({ description: 'Values of the exact groupings; only shots of one group may be paired.' }),
  contrast: z.union([z.number(), z.string()]),
  response: z.number().meta({ description: 'Value of the response, SI.' }),
  match: z
    .array(z.number())
    .meta({ description: 'Values of the matching variables, in the order of the specification.' }),
  uncertainties: z.array(z.number()).optional().meta({
    description:
      'Standard uncertainties that the calipers rest on, in the order of the specification; 0 where the caliper does not. Only with calipers in combined standard uncertainties.',
  }),
  price,
};

export const pairedShotSchema = z.strictObject(shotPlace).meta({ id: 'PairedShot' });
export type PairedShot = z.infer<typeof pairedShotSchema>;

export const matchedPairSchema = z
  .strictObject({
    first: pairedShotSchema,
    second: pairedShotSchema,
    distance: z.number().meta({ description: 'sqrt of the sum of (difference / caliper)^2, a pure number.' }),
    difference: z.number().meta({ description: 'Response, first minus second, SI.' }),
    adjustedDifference: z.number().nullable().meta({
      description: 'The same less what leftover differences in the matching variables are worth, SI.',
    }),
  })
  .meta({ id: 'MatchedPair' });

export const unmatchedReasons = ['noShotInGroup', 'noneWithinCalipers', 'candidatesTaken'] as const;
export type UnmatchedReason = (typeof unmatchedReasons)[number];

export const unmatchedSchema = z
  .strictObject({
    first: z.int(),
    second: z.int(),
    reasons: z.array(z.strictObject({ code: z.enum(unmatchedReasons), reason: z.string(), shots: z.int() })),
    shots: z.array(
      z.strictObject({ side: z.enum(['first', 'second']), reason: z.enum(unmatchedReasons), ...shotPlace }),
    ),
  })
  .meta({ id: 'UnmatchedShots' });

/** What one matching variable was matched within, and why. */
export const appliedCaliperSchema = z
  .strictObject({
    variable: variableSchema,
    unit: z.string(),
    caliper: z.number().meta({
      description: 'Largest difference allowed, SI; the widest of all pairs where it differs from pair to pair.',
    }),
    combinedUncertainties: z.number().nullable().meta({
      description:
        'The caliper of a pair is this number of combined standard uncertainties of its two shots; else null.',
    }),
    standardUncertainty: z.number().nullable().meta({
      description:
        'Root mean square standard uncertainty of one shot, without what the shots of an exact group share; null when none is stated.',
    }),
    standardDeviation: z.number().nullable().meta({ description: 'Of the shots of both sides before matching, SI.' }),
    sentence: z.string(),
  })
  .meta({ id: 'AppliedCaliper' });
export type AppliedCaliper = z.infer<typeof appliedCaliperSchema>;

/** Enough, with the prices of the shots, to check that no other pairing has more pairs or less total distance. */
export const optimalitySchema = z
  .strictObject({
    totalDistance: z.number(),
    costScale: z.number().meta({ description: 'Cost of a pair: its distance times this, rounded to a whole number.' }),
    unmatchedCost: z.number().meta({ description: 'Cost of a first shot without partner; the largest price u.' }),
    totalCost: z.number(),
    candidates: z.int().meta({ description: 'Pairs within the calipers.' }),
  })
  .meta({ id: 'Optimality' });

const standardised = z.number().nullable();
export const balanceSchema = z
  .strictObject({
    variable: variableSchema,
    before: standardised.meta({
      description:
        'Standardised mean difference before matching, first minus second, a pure number; null where the shots do not vary.',
    }),
    after: standardised.meta({ description: 'The same of the pairs, over the spread before matching, a pure number.' }),
    varianceRatioBefore: standardised.meta({
      description: 'Variance of the first side over that of the second, a pure number.',
    }),
    varianceRatioAfter: standardised,
    meanDifference: z.number().meta({ description: 'Mean difference within pairs, SI.' }),
  })
  .meta({ id: 'Balance' });
export type Balance = z.infer<typeof balanceSchema>;
