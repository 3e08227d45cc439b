/** Two shots laid over each other. */
import { z } from 'zod';
import { estimateSchema } from './estimate.ts';
import { endings } from './shot.ts';

const pointsOf = (description: string) =>
  z.array(z.strictObject({ time: z.number(), position: z.number() })).meta({ description });

export const overlaidShotSchema = z
  .strictObject({
    id: z.uuid(),
    lab: z.string(),
    label: z.string(),
    revision: z.int(),
    methodVersion: z.string(),
    cueSpeed: estimateSchema.nullable(),
    cueAcceleration: estimateSchema.nullable(),
    contactTime: estimateSchema.nullable(),
    tipOffset: estimateSchema.nullable(),
    objectBallDistance: z.number().nullable(),
    outcomeDistance: estimateSchema.nullable(),
    outcomeBound: z.number().nullable(),
    ended: z.enum(endings).nullable(),
    cue: pointsOf('Cue track: s after first contact, m from the place of the cue at first contact.'),
    cueReason: z.string().nullable().meta({ description: 'Why there is no cue track.' }),
    cueFit: z
      .array(z.strictObject({ time: z.number(), speed: z.number(), acceleration: z.number() }))
      .meta({ description: 'Along the fit in its window: s after first contact (before it: negative), m/s, m/s2.' }),
    ball: pointsOf('Track of the cue ball: s after the ball-ball impact, m from its place at the impact.'),
    ballReason: z.string().nullable().meta({ description: 'Why there is no ball track on this time base.' }),
    derivation: z.string().meta({ description: 'Address of the numbers, step by step, down to the frames counted.' }),
  })
  .meta({ id: 'OverlaidShot' });
export type OverlaidShot = z.infer<typeof overlaidShotSchema>;

export const overlaySchema = z
  .strictObject({ shots: z.tuple([overlaidShotSchema, overlaidShotSchema]), sentence: z.string() })
  .meta({ id: 'Overlay' });
export type Overlay = z.infer<typeof overlaySchema>;
