/** Matched comparison: the question. */
import { z } from 'zod';
import { commonSpecification, groupingSchema, variableSchema } from './analysis.ts';
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

export const caliperSchema = z
  .union([
    z.number().positive().meta({ description: 'SI.' }),
    z.literal('proposed'),
    z.strictObject({ standardDeviations: z.number().positive().max(10) }),
    z.strictObject({ combinedUncertainties: z.number().positive().max(100) }),
  ])
  .meta({
    id: 'Caliper',
    description:
      'Largest difference allowed within a pair. A number: SI. standardDeviations: of the shots of both sides before matching. combinedUncertainties: sqrt(u1^2 + u2^2) of the two shots, so another caliper for every pair; parts of an uncertainty that both shots share do not count. proposed: what the service proposes and explains, never below the measurement uncertainty.',
  });
export type Caliper = z.infer<typeof caliperSchema>;

export const matchVariableSchema = z.strictObject({
  variable: variableSchema,
  caliper: caliperSchema.default('proposed'),
});

export const clusterings = ['automatic', 'none', 'lab', 'player'] as const;

export const comparisonSpecificationSchema = z
  .strictObject({
    contrast: contrastSchema,
    response: variableSchema,
    match: z
      .array(matchVariableSchema)
      .min(1)
      .max(7)
      .prefault([{ variable: 'tipOffset' }, { variable: 'cueSpeed' }, { variable: 'objectBallDistance' }]),
    exact: z.array(groupingSchema).max(9).default(['lab', 'setUp']).meta({
      description:
        'Groupings that must be equal within a pair; an empty list for none. With setUp (table and straight or not) the object-ball distance is matched too, within the proposed caliper unless one is given.',
    }),
    clusterBy: z.enum(clusterings).default('automatic').meta({
      description:
        'Whose pairs may err together. automatic: labs where at least three give pairs, else players where at least three repeat, else none.',
    }),
    margin: z.string().nullable().default(null).meta({
      description: 'Id of a declared equivalence margin for the response; without it no claim of equivalence is made.',
    }),
    ...commonSpecification,
  })
  .meta({ id: 'ComparisonSpecification' });
export type ComparisonSpecification = z.output<typeof comparisonSpecificationSchema>;
