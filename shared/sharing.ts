/** Which shots of a lab are shared with everybody, now or from a date. */
import { z } from 'zod';
import { calendarDateSchema, gearReferenceSchema, storableText } from './measure.ts';

const choices = [
  z.strictObject({ labels: z.array(storableText(0, 80)).min(1).max(100_000) }),
  z.strictObject({ all: z.literal(true) }),
  z.strictObject({
    sessions: z
      .array(calendarDateSchema)
      .min(1)
      .max(1000)
      .meta({ description: 'Session dates as the lab wrote them.' }),
    rig: gearReferenceSchema.optional(),
  }),
  z.strictObject({ rig: gearReferenceSchema.meta({ description: 'All shots of a rig, or of one version of it.' }) }),
] as const;

/** Shots of a lab by label, all of them, by session date, or by rig; withdrawn ones are left out. */
export const shotChoiceSchema = z.union(choices).meta({ id: 'ShotChoice' });
export type ShotChoice = z.infer<typeof shotChoiceSchema>;

const from = z.iso
  .datetime({ offset: true })
  .optional()
  .meta({ description: 'Share from this instant on: the choice is made then, within a minute. Else now.' });
const [byLabel, everything, bySession, byRig] = choices;
export const sharingInputSchema = z
  .union([byLabel.extend({ from }), everything.extend({ from }), bySession.extend({ from }), byRig.extend({ from })])
  .meta({ id: 'SharingInput' });

export const plannedSharingSchema = z
  .strictObject({
    id: z.uuid(),
    lab: z.string(),
    choice: shotChoiceSchema,
    from: z.iso.datetime(),
    doneAt: z.iso.datetime().nullable(),
    shared: z.int().nullable().meta({ description: 'How many shots became shared when it took effect.' }),
  })
  .meta({ id: 'PlannedSharing' });
export type PlannedSharing = z.infer<typeof plannedSharingSchema>;
