/** Matched comparison: the answer. The question stands in comparison-specification.ts, margins in margin.ts. */
import { z } from 'zod';
import { provenanceSchema, warningSchema } from './analysis.ts';
import {
  adjustmentSchema,
  clusteredSchema,
  differenceSchema,
  equivalenceSchema,
  labDifferenceSchema,
  labHeterogeneitySchema,
  measurementSchema,
  quotedSchema,
  rankAnalysisSchema,
  verdictSchema,
} from './comparison-estimates.ts';
import {
  appliedCaliperSchema,
  balanceSchema,
  matchedPairSchema,
  optimalitySchema,
  unmatchedSchema,
} from './comparison-pairs.ts';
import { builtInBiasSchema, sensitivitySchema, unresolvedSchema } from './comparison-robustness.ts';
import { comparisonSpecificationSchema } from './comparison-specification.ts';

export {
  type ComparisonSpecification,
  type Contrast,
  comparisonSpecificationSchema,
} from './comparison-specification.ts';
export { type Margin, marginInputSchema, marginSchema } from './margin.ts';

export const comparisonResultSchema = z
  .strictObject({
    kind: z.literal('comparison'),
    specification: comparisonSpecificationSchema,
    verdict: verdictSchema,
    sentence: z.string(),
    calipers: z.array(appliedCaliperSchema),
    pairs: z.array(matchedPairSchema),
    unmatched: unmatchedSchema,
    ties: z.int().meta({ description: 'Pairs that could have taken another shot at the same total distance.' }),
    optimality: optimalitySchema,
    balance: z.array(balanceSchema).meta({
      description: 'Of the matching variables before and after matching.',
    }),
    worstProduct: z
      .strictObject({
        term: z.string(),
        before: z.number().nullable().meta({ description: 'Before matching, a pure number.' }),
        after: z.number().meta({ description: 'After matching, a pure number.' }),
      })
      .nullable()
      .meta({
        description:
          'The square or product of matching variables with the largest standardised mean difference after matching.',
      }),
    contrastAchieved: z
      .strictObject({ first: z.number(), second: z.number(), unit: z.string(), sentence: z.string() })
      .nullable()
      .meta({ description: 'Mean of the contrast variable on each side of the pairs; null for a grouping.' }),
    quoted: quotedSchema,
    raw: differenceSchema.meta({ description: 'Mean of the pair differences with Student t; pairs independent.' }),
    adjusted: differenceSchema.nullable().meta({
      description:
        'Adjusted for leftover differences in the matching variables; pairs independent. Null with too few pairs.',
    }),
    adjustment: z.array(adjustmentSchema),
    clustered: clusteredSchema.nullable().meta({ description: 'Null when pairs count as independent.' }),
    ranks: z.array(rankAnalysisSchema),
    measurement: measurementSchema.nullable().meta({ description: 'Null when no uncertainty is stated.' }),
    equivalence: equivalenceSchema.nullable(),
    labs: z.array(labDifferenceSchema),
    heterogeneity: labHeterogeneitySchema
      .nullable()
      .meta({ description: 'Null with fewer than two labs of two pairs.' }),
    builtInBias: builtInBiasSchema.nullable(),
    unresolved: unresolvedSchema.nullable().meta({
      description:
        'Shots whose side of the contrast is not settled, and the answer without them; null when there are none.',
    }),
    sensitivity: sensitivitySchema,
    warnings: z.array(warningSchema),
    provenance: provenanceSchema,
  })
  .meta({ id: 'ComparisonResult' });
export type ComparisonResult = z.output<typeof comparisonResultSchema>;
