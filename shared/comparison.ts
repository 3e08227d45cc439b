/** Matched comparison: the question and the answer; equivalence margins. */
import { z } from 'zod';
import {
  commonSpecification,
  groupingSchema,
  intervalSchema,
  provenanceSchema,
  variableSchema,
  warningSchema,
} from './analysis.ts';
import { storableText } from './measure.ts';

const rangeSchema = z.tuple([z.number(), z.number()]);

/** The one thing in which the two sides differ. Side `first` minus side `second` is the difference reported. */
export const contrastSchema = z
  .discriminatedUnion('kind', [
    z
      .strictObject({ kind: z.literal('sign'), variable: variableSchema })
      .meta({ description: 'first: positive values; second: negative values.' }),
    z
      .strictObject({ kind: z.literal('threshold'), variable: variableSchema, at: z.number() })
      .meta({ description: 'first: above; second: below.' }),
    z.strictObject({ kind: z.literal('ranges'), variable: variableSchema, first: rangeSchema, second: rangeSchema }),
    z.strictObject({
      kind: z.literal('grouping'),
      grouping: groupingSchema,
      first: storableText(0, 200),
      second: storableText(0, 200),
    }),
  ])
  .meta({ id: 'Contrast' });
export type Contrast = z.infer<typeof contrastSchema>;

export const matchVariableSchema = z.strictObject({
  variable: variableSchema,
  caliper: z.number().positive().meta({ description: 'Largest difference allowed within a pair, SI.' }),
});

export const comparisonSpecificationSchema = z
  .strictObject({
    contrast: contrastSchema,
    response: variableSchema,
    match: z
      .array(matchVariableSchema)
      .min(1)
      .max(7)
      .default([
        { variable: 'tipOffset', caliper: 0.03 },
        { variable: 'cueSpeed', caliper: 0.1 },
        { variable: 'objectBallDistance', caliper: 0.03 },
      ]),
    exact: z.array(groupingSchema).max(9).default(['lab', 'setUp']).meta({
      description:
        'Groupings that must be equal within a pair. With setUp (table and straight or not) the object-ball distance is matched too, within 0.03 m unless a caliper is given.',
    }),
    margin: z.string().nullable().default(null).meta({
      description: 'Id of a declared equivalence margin for the response; without it no claim of equivalence is made.',
    }),
    ...commonSpecification,
  })
  .meta({ id: 'ComparisonSpecification' });
export type ComparisonSpecification = z.output<typeof comparisonSpecificationSchema>;

/** A margin as it enters an analysis: what was declared, and when. */
export const appliedMarginSchema = z.strictObject({
  id: z.string(),
  value: z.number().positive(),
  declaredAt: z.iso
    .datetime()
    .nullable()
    .meta({ description: 'Null in the files of a release, which hold no clock times.' }),
});
export type AppliedMargin = z.infer<typeof appliedMarginSchema>;

export const pairedShotSchema = z.strictObject({
  lab: z.string(),
  label: z.string(),
  contrast: z.union([z.number(), z.string()]),
  response: z.number(),
  match: z
    .array(z.number())
    .meta({ description: 'Values of the matching variables, in the order of the specification.' }),
});

export const differenceSchema = z
  .strictObject({
    estimate: z.number(),
    standardError: z.number(),
    degreesOfFreedom: z.number(),
    interval: intervalSchema,
    pValue: z.number().meta({ description: 'Two-sided p of no difference; a large p is not evidence of equality.' }),
  })
  .meta({ id: 'Difference' });

export const equivalenceSchema = z
  .strictObject({
    margin: appliedMarginSchema,
    prior: z
      .boolean()
      .meta({ description: 'True when the margin was declared before every judged shot was received.' }),
    shareReceivedAfter: z
      .number()
      .meta({ description: 'Share of the judged shots received after the margin was declared.' }),
    interval: intervalSchema.meta({
      description: '(1 - 2 alpha) interval of the adjusted difference, to be held against the margin.',
    }),
    pLower: z.number(),
    pUpper: z.number(),
    pairsNeeded: z.int().nullable().meta({
      description:
        'When undecided: about how many pairs in all would settle it at 80 % power if there is no difference.',
    }),
  })
  .meta({ id: 'Equivalence' });

export const verdicts = [
  'differentBeyondMargin',
  'differentWithinMargin',
  'equivalent',
  'undecided',
  'noMargin',
] as const;

export const comparisonResultSchema = z
  .strictObject({
    kind: z.literal('comparison'),
    specification: comparisonSpecificationSchema,
    pairs: z.array(z.strictObject({ first: pairedShotSchema, second: pairedShotSchema, distance: z.number() })),
    unmatched: z.strictObject({
      first: z.int(),
      second: z.int(),
      reasons: z.array(z.strictObject({ reason: z.string(), shots: z.int() })),
    }),
    ties: z.int().meta({ description: 'Pairs that could have taken another shot at the same distance.' }),
    balance: z
      .array(z.strictObject({ variable: variableSchema, before: z.number().nullable(), after: z.number().nullable() }))
      .meta({
        description: 'Standardised mean differences of the matching variables before and after matching.',
      }),
    contrastAchieved: z
      .strictObject({ first: z.number(), second: z.number() })
      .nullable()
      .meta({ description: 'Mean of the contrast variable on each side of the pairs.' }),
    raw: differenceSchema,
    adjusted: differenceSchema.nullable().meta({
      description:
        'Adjusted for leftover differences in the matching variables; the figure to quote. Null with too few pairs.',
    }),
    equivalence: equivalenceSchema.nullable(),
    verdict: z.enum(verdicts),
    sentence: z.string(),
    warnings: z.array(warningSchema),
    provenance: provenanceSchema,
  })
  .meta({ id: 'ComparisonResult' });
export type ComparisonResult = z.output<typeof comparisonResultSchema>;

export const marginInputSchema = z
  .strictObject({
    variable: variableSchema,
    value: z.number().positive().meta({ description: 'Smallest difference that matters, SI.' }),
    reason: storableText(10, 500),
    supersedes: z.string().optional().meta({ description: 'Id of the margin that this one replaces.' }),
  })
  .meta({ id: 'MarginDeclaration' });
export const marginSchema = marginInputSchema
  .extend({
    id: z.string(),
    declaredAt: z.iso.datetime(),
    supersededBy: z.string().nullable(),
  })
  .meta({ id: 'Margin' });
export type Margin = z.infer<typeof marginSchema>;
