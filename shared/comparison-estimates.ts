/** Matched comparison: how large the difference is, in several ways, and how sure that is. */
import { z } from 'zod';
import { intervalSchema, variableSchema } from './analysis.ts';
import { appliedMarginSchema } from './margin.ts';

export const differenceSchema = z
  .strictObject({
    estimate: z.number(),
    unit: z.string(),
    standardError: z.number(),
    degreesOfFreedom: z.number(),
    interval: intervalSchema,
    pValue: z
      .number()
      .meta({ description: 'Two-sided p of a zero difference; a large p is not evidence of equality.' }),
    sentence: z.string(),
  })
  .meta({ id: 'Difference' });
export type Difference = z.infer<typeof differenceSchema>;

export const clusteredSchema = z
  .strictObject({
    by: z.enum(['lab', 'player']),
    clusters: z.int(),
    raw: differenceSchema.nullable(),
    adjusted: differenceSchema.nullable(),
    reason: z.string(),
  })
  .meta({ id: 'ClusteredDifference', description: 'CR2 errors with Satterthwaite degrees of freedom.' });

export const rankAnalysisSchema = z
  .strictObject({
    of: z.enum(['raw', 'adjusted']),
    statistic: z.number().meta({ description: 'Sum of the ranks of the positive pair differences, a pure number.' }),
    zeros: z.int().meta({ description: 'Pair differences of zero: dropped before ranking.' }),
    tied: z
      .int()
      .meta({ description: 'Pair differences that share their size with another: they share the mean rank.' }),
    exact: z.boolean().meta({ description: 'Counted over all signs; else by the normal approximation.' }),
    pValue: z.number(),
    hodgesLehmann: z.strictObject({
      estimate: z.number(),
      unit: z.string(),
      interval: intervalSchema,
      confidence: z
        .number()
        .meta({ description: 'Confidence level that the interval really has; ranks come in steps.' }),
    }),
    sentence: z.string(),
  })
  .meta({ id: 'RankAnalysis' });

export const adjustmentSchema = z
  .strictObject({
    variable: variableSchema,
    slope: z
      .number()
      .nullable()
      .meta({ description: 'Response per unit of leftover difference, SI; null when it was not adjusted for.' }),
    unit: z.string(),
    worth: z
      .number()
      .nullable()
      .meta({ description: 'Slope times mean leftover difference: taken off the raw difference, SI.' }),
  })
  .meta({ id: 'LeftoverAdjustment' });

export const equivalenceSchema = z
  .strictObject({
    margin: appliedMarginSchema,
    unit: z.string(),
    prior: z
      .boolean()
      .meta({ description: 'True when the margin was declared before every judged shot was received.' }),
    shareReceivedAfter: z
      .number()
      .meta({ description: 'Share of the judged shots received after the margin was declared.' }),
    interval: intervalSchema.meta({
      description: '(1 - 2 alpha) interval of the quoted difference, to be held against the margin.',
    }),
    pLower: z.number(),
    pUpper: z.number(),
    pairsNeeded: z.int().nullable().meta({
      description:
        'When undecided: pairs in all that would establish equivalence at 80 % power if there is truly no difference.',
    }),
    furtherPairs: z
      .strictObject({
        power: z.number(),
        ifNoDifference: z.int().nullable(),
        ifAsEstimated: z.int().nullable(),
      })
      .nullable()
      .meta({
        description:
          'When undecided: pairs beyond those at hand that would establish equivalence. Null where no number would.',
      }),
    sentence: z.string(),
  })
  .meta({ id: 'Equivalence' });

export const verdicts = [
  'differentBeyondMargin',
  'differentWithinMargin',
  'equivalent',
  'undecided',
  'noMargin',
] as const;
export const verdictSchema = z.enum(verdicts).meta({
  id: 'Verdict',
  description:
    'differentBeyondMargin: different and larger than the margin. differentWithinMargin: different but within the margin. equivalent: differences as large as the margin are ruled out. undecided: more pairs are needed. noMargin: nothing is claimed about equality.',
});
export type Verdict = z.infer<typeof verdictSchema>;

export const quotedSchema = z
  .strictObject({
    of: z.enum(['raw', 'adjusted']),
    clusteredBy: z.enum(['lab', 'player']).nullable(),
    ...differenceSchema.shape,
  })
  .meta({ id: 'QuotedDifference', description: 'The difference that verdict and sentence rest on.' });

export const measurementSchema = z
  .strictObject({
    unit: z.string(),
    contributions: z.array(
      z.strictObject({
        variable: variableSchema,
        perUnit: z.number().meta({ description: 'Response per unit of the variable; 1 for the response itself.' }),
        independent: z.number().meta({ description: 'From errors of single shots; shrinks with the number of pairs.' }),
        common: z.number().meta({
          description:
            'From errors that shots of one rig, cue or table share, as far as they do not cancel within pairs.',
        }),
        uncancelled: z.number().meta({ description: 'What the shared errors would be if they did not cancel, SI.' }),
      }),
    ),
    independent: z.number(),
    common: z.number(),
    standardUncertainty: z
      .number()
      .meta({ description: 'Of the mean difference, from measurement alone, in the unit stated beside it.' }),
    sentence: z.string(),
  })
  .meta({ id: 'MeasurementOfDifference' });

export const labDifferenceSchema = z
  .strictObject({
    lab: z.string(),
    pairs: z.int(),
    share: z.number().meta({ description: 'Share of all pairs.' }),
    estimate: z.number(),
    unit: z.string(),
    standardError: z.number().nullable(),
    interval: intervalSchema.nullable().meta({ description: 'Null with a single pair.' }),
  })
  .meta({
    id: 'LabDifference',
    description: "Mean of the pair differences of one lab's own pairs, adjusted where the quoted difference is.",
  });

export const labHeterogeneitySchema = z
  .strictObject({
    labs: z.int(),
    q: z.number(),
    degreesOfFreedom: z.int(),
    pValue: z.number(),
    tau: z.number().meta({ description: 'Standard deviation of the true differences between labs (REML), SI.' }),
    tauInterval: intervalSchema,
    inconsistency: z.number().meta({ description: 'I2: share of the spread between labs that is not chance.' }),
    estimate: z
      .number()
      .meta({ description: 'Mean of the labs, each lab weighted by its precision (Hartung-Knapp), SI.' }),
    interval: intervalSchema.nullable(),
    prediction: intervalSchema.nullable().meta({ description: 'Where the difference of a further lab would lie.' }),
    unit: z.string(),
    sentence: z.string(),
  })
  .meta({ id: 'LabHeterogeneity' });
