/** A value with its uncertainty, as every derived number is written. SI. */
import { z } from 'zod';

/** Standard uncertainty by what it is common to; the squares add up to that of the total. */
export const uncertaintyPartsSchema = z
  .strictObject({
    shot: z.number().min(0).meta({ description: 'Of this shot alone: averages away over shots.' }),
    rig: z.number().min(0).meta({ description: 'Common to all shots of the rig version.' }),
    cue: z.number().min(0).meta({ description: 'Common to all shots of the cue version.' }),
    table: z.number().min(0).meta({ description: 'Common to all shots of the table version (its balls and cloth).' }),
  })
  .meta({ id: 'UncertaintyParts' });
export type UncertaintyParts = z.infer<typeof uncertaintyPartsSchema>;

/** A value with its standard uncertainty and its 95 % interval (not always symmetric or normal). */
export const estimateSchema = z
  .strictObject({
    value: z.number(),
    standardUncertainty: z.number().min(0),
    lower: z.number().meta({ description: 'Lower end of the 95 % interval.' }),
    upper: z.number().meta({ description: 'Upper end of the 95 % interval.' }),
    parts: uncertaintyPartsSchema.optional(),
  })
  .meta({ id: 'Estimate' });
export type Estimate = z.infer<typeof estimateSchema>;
