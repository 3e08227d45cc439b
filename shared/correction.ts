/** Corrections of stored shots: one shot amended, or many that adopt another version of their gear. */
import { z } from 'zod';
import { calendarDateSchema, storableText } from './measure.ts';
import { receiptSchema } from './submission.ts';

const reasonSchema = storableText(3, 500).meta({ description: 'Why: it stands in the history of the shot.' });

export const amendmentInputSchema = z
  .strictObject({
    revision: z.int().min(1).meta({ description: 'The revision that is amended; it must be the current one.' }),
    changes: z.record(z.string(), z.unknown()).meta({
      description: 'Fields of ShotInput as a merge patch (RFC 7396): null takes a field away. Label and shared stay.',
    }),
    reason: reasonSchema,
  })
  .meta({ id: 'AmendmentInput' });
export type AmendmentInput = z.infer<typeof amendmentInputSchema>;

export const adoptionInputSchema = z
  .strictObject({
    from: z.int().min(1).meta({ description: 'Version that the shots name now.' }),
    to: z.int().min(1).meta({ description: 'Version that they adopt.' }),
    sessions: z
      .array(calendarDateSchema)
      .min(1)
      .max(1000)
      .optional()
      .meta({ description: 'Session dates of the shots meant; all shots of the version when not given.' }),
    reason: reasonSchema,
  })
  .meta({ id: 'AdoptionInput' });
export type AdoptionInput = z.infer<typeof adoptionInputSchema>;

/** Derived values whose change an adoption shows. */
export const shownQuantities = ['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset'] as const;
export type ShownQuantity = (typeof shownQuantities)[number];

export const valueChangeSchema = z
  .strictObject({
    shots: z.int().meta({ description: 'Shots that have the value before and after.' }),
    meanChange: z.number().nullable().meta({ description: 'Mean of after - before, SI; null without such shots.' }),
    largestChange: z.number().nullable().meta({ description: 'The change of largest size, with its sign, SI.' }),
    largestChangeOf: z.string().nullable().meta({ description: 'Label of the shot with the largest change.' }),
    lost: z.int().meta({ description: 'Shots that have the value before and not after.' }),
    gained: z.int().meta({ description: 'Shots that have the value after and not before.' }),
  })
  .meta({ id: 'ValueChange' });
export type ValueChange = z.infer<typeof valueChangeSchema>;

export const correctionEffectSchema = z
  .strictObject({
    shots: z.int().meta({ description: 'Shots meant.' }),
    refused: z.int().meta({ description: 'Shots that the checks refuse with the other version.' }),
    values: z.strictObject({
      cueSpeed: valueChangeSchema,
      cueAcceleration: valueChangeSchema,
      contactTime: valueChangeSchema,
      tipOffset: valueChangeSchema,
    }),
    flags: z.array(z.strictObject({ flag: z.string(), appears: z.int(), disappears: z.int() })),
  })
  .meta({ id: 'CorrectionEffect' });
export type CorrectionEffect = z.infer<typeof correctionEffectSchema>;

export const correctionSchema = z
  .strictObject({ effect: correctionEffectSchema, receipt: receiptSchema })
  .meta({ id: 'Correction' });
export type Correction = z.infer<typeof correctionSchema>;
