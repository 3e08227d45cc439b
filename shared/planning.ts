/** How many pairs a question needs, before they are filmed. */
import { z } from 'zod';
import { variableSchema } from './analysis.ts';

export const planningInputSchema = z
  .strictObject({
    goal: z.enum(['equivalence', 'difference']).default('equivalence').meta({
      description:
        'equivalence: rule out differences as large as the margin, by two one-sided tests. difference: find the difference that is assumed, by a two-sided t test.',
    }),
    variable: variableSchema
      .optional()
      .meta({ description: 'The response; may be left out where a margin or an analysis tells it.' }),
    margin: z.string().optional().meta({ description: 'Id of a declared margin for the response; instead of size.' }),
    size: z
      .number()
      .positive()
      .optional()
      .meta({ description: 'Smallest difference that matters, SI; instead of margin. For equivalence only.' }),
    analysis: z
      .string()
      .optional()
      .meta({ description: 'Id of a comparison whose pairs show the spread; instead of pairSpread.' }),
    pairSpread: z.number().positive().optional().meta({
      description: 'Standard deviation of the difference within a pair, SI; instead of analysis.',
    }),
    difference: z.number().default(0).meta({
      description: 'True difference that is assumed, SI: what is to be found, or what equivalence has to allow for.',
    }),
    power: z.number().min(0.5).max(0.99).default(0.8),
    confidence: z.number().min(0.5).max(0.999).default(0.95).meta({
      description: 'alpha = 1 - confidence: of each one-sided test for equivalence, of both sides for a difference.',
    }),
  })
  .meta({ id: 'PlanningQuestion' });
export type PlanningInput = z.output<typeof planningInputSchema>;

const pairsSchema = z.int().nullable().meta({ description: 'Pairs in all; null where a million would not do.' });

export const planningSchema = z
  .strictObject({
    goal: z.enum(['equivalence', 'difference']),
    variable: variableSchema,
    size: z.number().nullable().meta({ description: 'The margin, SI; null for the goal difference.' }),
    difference: z.number(),
    power: z.number(),
    confidence: z.number(),
    pairSpread: z.number().meta({ description: 'SI. Of the adjusted pair differences where the analysis adjusts.' }),
    adjustedFor: z
      .int()
      .meta({ description: 'Matching variables that the difference is adjusted for: each costs a pair.' }),
    pairs: pairsSchema,
    achievedPower: z.number().nullable().meta({ description: 'With so many pairs.' }),
    pairsAtHand: z.int().nullable().meta({ description: 'Of the analysis.' }),
    furtherPairs: z.int().nullable().meta({ description: 'Beyond those of the analysis; 0 when there are enough.' }),
    halfWidth: z.number().nullable().meta({
      description:
        'Half width of the interval to expect with so many pairs, SI: of the (1 - 2 alpha) one for equivalence.',
    }),
    alternatives: z
      .array(z.strictObject({ size: z.number(), power: z.number(), pairs: pairsSchema }))
      .meta({ description: 'The same for other sizes (of the margin, or of the difference to find) and powers.' }),
    sentence: z.string(),
    where: z.string().meta({ description: 'Address of the coverage map: where the next shots would make new pairs.' }),
  })
  .meta({ id: 'Planning' });
export type Planning = z.infer<typeof planningSchema>;
