/** Equivalence margins: the smallest effect that matters, declared with a reason and the server's time. */
import { z } from 'zod';
import { variableSchema } from './analysis.ts';
import { measureSchema, storableText } from './measure.ts';

export const marginInputSchema = z
  .strictObject({
    variable: variableSchema,
    value: z.union([z.number().positive(), measureSchema]).meta({
      description:
        'Smallest difference that matters: a number in SI, or a value with its unit. Ball diameters (ball) and ball radii (R) take the ball of ballDiameter.',
    }),
    ballDiameter: measureSchema.optional().meta({
      description: 'Ball that a size in balls or ball radii refers to; 57.15 mm (pool) when not given.',
    }),
    reason: storableText(10, 500),
    supersedes: z.string().optional().meta({ description: 'Id of the margin that this one replaces.' }),
  })
  .meta({ id: 'MarginDeclaration' });

export const marginSchema = z
  .strictObject({
    variable: variableSchema,
    value: z.number().positive().meta({ description: 'SI.' }),
    reason: z.string(),
    supersedes: z.string().optional(),
    id: z.string(),
    declaredAt: z.iso.datetime().meta({ description: "The server's time of the commit." }),
    supersededBy: z.string().nullable(),
  })
  .meta({ id: 'Margin' });
export type Margin = z.infer<typeof marginSchema>;

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
