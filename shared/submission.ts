/** An upload and its receipt. */
import { z } from 'zod';
import { derivedShotSchema } from './derivation.ts';
import { faultSchema } from './problems.ts';
import { shotInputSchema } from './shot.ts';

export const submissionQuerySchema = z.strictObject({
  dryRun: z
    .stringbool()
    .default(false)
    .meta({ description: 'Validate and derive, store no shot: only the receipt is kept.' }),
  accept: z
    .enum(['all', 'valid'])
    .default('all')
    .meta({ description: 'all: nothing is stored unless every shot is valid. valid: the valid shots are stored.' }),
  revise: z
    .stringbool()
    .default(false)
    .meta({ description: 'Different content under a known label becomes a new revision.' }),
  reason: z
    .string()
    .min(3)
    .max(500)
    .optional()
    .meta({ description: 'Why shots are revised: it stands in their history.' }),
});
export type SubmissionOptions = z.output<typeof submissionQuerySchema>;

export const submissionBodySchema = z.union([
  shotInputSchema,
  z.strictObject({ shots: z.array(shotInputSchema).min(1) }),
]);

export const shotStates = ['created', 'unchanged', 'revised', 'rejected'] as const;
export type ShotState = (typeof shotStates)[number];

/** What happened to one shot of a submission, in the order sent. */
export const receiptShotSchema = z
  .strictObject({
    position: z.int().meta({ description: 'Place in the submission, from 1.' }),
    label: z.string().nullable(),
    state: z.enum(shotStates).meta({ description: 'On a dry run or a refused submission: what would have happened.' }),
    shot: z.string().nullable().meta({ description: 'Shot id, when stored.' }),
    revision: z.int().nullable(),
    derived: derivedShotSchema.nullable(),
    faults: z.array(faultSchema),
  })
  .meta({ id: 'ReceiptShot' });
export type ReceiptShot = z.infer<typeof receiptShotSchema>;

export const receiptSchema = z
  .strictObject({
    submission: z.string(),
    lab: z.string(),
    receivedAt: z.iso.datetime(),
    dryRun: z.boolean(),
    stored: z.boolean(),
    counts: z.strictObject({ created: z.int(), unchanged: z.int(), revised: z.int(), rejected: z.int() }),
    rejected: z
      .array(receiptShotSchema)
      .meta({ description: 'The first 100 rejected shots; all shots are at /v1/submissions/{submission}/shots.' }),
    remarks: z
      .array(z.string())
      .meta({ description: 'What the first 200 shots together show to be looked at; nothing is refused for it.' }),
    shots: z.string().meta({ description: 'Address of the full list.' }),
  })
  .meta({ id: 'Receipt' });
export type Receipt = z.infer<typeof receiptSchema>;
