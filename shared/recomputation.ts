/** Changing the method version: all current shots derived under the newer one, side by side, then activated. */
import { z } from 'zod';
import { budgetedResults } from './derivation.ts';

/** What the change does to one quantity, over the current shots that are not withdrawn. */
export const quantityChangeSchema = z
  .strictObject({
    quantity: z.enum(budgetedResults),
    siUnit: z.string(),
    compared: z.int().meta({ description: 'Shots that have a value under both methods.' }),
    changed: z.int().meta({ description: 'Of those: shots whose value or standard uncertainty changes.' }),
    appeared: z.int().meta({ description: 'Shots that have a value under the new method only.' }),
    vanished: z.int().meta({ description: 'Shots that have a value under the old method only.' }),
    largestChange: z.number().meta({ description: 'Largest absolute change of a value, SI.' }),
    largestChangeInUncertainties: z
      .number()
      .nullable()
      .meta({ description: 'Largest change over the old standard uncertainty; null when none is above zero.' }),
  })
  .meta({ id: 'QuantityChange' });

export const methodChangesSchema = z
  .strictObject({
    shots: z.int().meta({ description: 'Current shots compared; withdrawn ones are not counted.' }),
    changed: z.int().meta({ description: 'Shots of which anything changes.' }),
    flagsChanged: z.int(),
    quantities: z.array(quantityChangeSchema),
  })
  .meta({ id: 'MethodChanges' });
export type MethodChanges = z.infer<typeof methodChangesSchema>;

export const recomputationSchema = z
  .strictObject({
    id: z.uuid(),
    fromMethod: z.string(),
    toMethod: z.string(),
    state: z.enum(['deriving', 'failed', 'derived', 'activated']).meta({
      description:
        'derived: every current shot has both derivations and the new method can be activated. failed: it stopped; asking again goes on where it stopped.',
    }),
    total: z.int().meta({ description: 'Shots to derive, withdrawn ones included.' }),
    done: z.int(),
    refused: z.int().meta({
      description: 'Shots that the new method would refuse as uploads: their derivation lacks what it cannot give.',
    }),
    failure: z.string().nullable(),
    startedAt: z.iso.datetime(),
    finishedAt: z.iso.datetime().nullable(),
    activatedAt: z.iso.datetime().nullable(),
    changes: methodChangesSchema
      .nullable()
      .meta({ description: 'What activation changes; after it, what it did change. Null until all is derived.' }),
  })
  .meta({ id: 'Recomputation' });
export type Recomputation = z.infer<typeof recomputationSchema>;
